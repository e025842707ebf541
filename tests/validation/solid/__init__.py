"""Reference route: plates as 3-D solids for CalculiX, sharing no mechanics with the shell."""
