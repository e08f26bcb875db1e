"""Two kits on one engine: is the second really better, and by how much."""
