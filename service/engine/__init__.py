"""Airflow and power physics. Numbers in, numbers out, SI inside."""
