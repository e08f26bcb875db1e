"""The catalogue as files: written out, checked and read in as a whole."""
