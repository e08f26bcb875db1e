"""The search over combinations: which kits are best, that none was missed, and what gives."""
