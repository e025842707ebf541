"""The sheet for the bench: the plate at its true size on paper, seen from the inside, with what to know while carving.

All lengths on paper are in millimetres. On paper u runs to the right and v up; u is the plate's y and v its x, which is
the plate as it lies before the maker with its inside up and its upper end away.
"""
