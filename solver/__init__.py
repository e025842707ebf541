"""Platewright: the free modes of violin-family plates, and what to do about them."""
