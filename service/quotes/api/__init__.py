"""Quotes over HTTP."""
