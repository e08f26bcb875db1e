"""Keeping what is kept: copies of a whole database, put back, and looked over."""
