"""Wave action in pipes: gas dynamics that the next tier of the model is built on."""
