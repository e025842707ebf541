"""Geometry of a plate: outline, arch, graduation and the mesh made from them. Knows no wood and no sound."""
