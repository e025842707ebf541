"""From a plate to its free modes, their shapes, node lines and names."""
