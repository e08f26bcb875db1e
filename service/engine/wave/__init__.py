"""Wave action in pipes: the tier that is trusted."""
