"""How fast: one module for each section of `poe bench`, which gets an empty folder to work in."""
