"""Jobs as everybody sees them, and as the worker that holds one writes to it."""
