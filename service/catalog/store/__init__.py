"""Where families, parts and shop rules are kept; one module for each."""
