"""What a person sees - pictures, tables and three-dimensional scenes."""
