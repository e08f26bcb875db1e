"""Kitwright: which parts go together on this engine, and what comes of it."""
