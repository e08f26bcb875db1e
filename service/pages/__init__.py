"""Pages for the sales desk, laid out from what a caller asks; every state is an address."""
