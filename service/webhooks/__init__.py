"""Events told to other systems: kept with what caused them, signed, sent until they arrive."""
