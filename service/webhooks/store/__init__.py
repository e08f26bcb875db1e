"""Subscriptions, messages and deliveries: written and read."""
