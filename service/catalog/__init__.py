"""What a part is; where it is stored; how it is asked for."""
