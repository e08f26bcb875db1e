"""Response surfaces of engine families: fitted to simulations, kept, and fitted again."""
