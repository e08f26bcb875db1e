"""Keys: who may ask what, and who is turned away."""
