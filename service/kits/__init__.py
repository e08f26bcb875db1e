"""One kit assessed."""
