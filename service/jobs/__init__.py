"""Work that outlives the request that asked for it."""
