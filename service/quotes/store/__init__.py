"""Quotes, price lists and tax rules: written and read."""
