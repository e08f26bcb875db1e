"""How documents and findings about them are asked for; one module for each resource."""
