"""Plots as SVG text: classes instead of inline styles, so that a strict page may show them."""
