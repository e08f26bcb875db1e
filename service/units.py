"""Conversions and constants; names say both units."""
