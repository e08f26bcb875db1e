"""Does this part go with that one, and why not."""
