"""Quotes: priced, frozen when issued, never changed afterwards, reproducible to the cent."""
