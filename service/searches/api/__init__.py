"""Searches at the edge."""
