"""How the catalogue is asked for; one module for each resource."""
