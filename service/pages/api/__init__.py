"""Pages at the edge."""
