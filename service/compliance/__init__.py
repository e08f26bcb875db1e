"""What is documented for this use in this place; who decides."""
