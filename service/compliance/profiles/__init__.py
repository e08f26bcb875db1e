"""The profiles as data, one file for each jurisdiction, and their reader."""
