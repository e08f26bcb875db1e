"""Whole databases: read out, filled, looked over."""
