"""Units: SI inside; everything else is converted here, once, at the edge."""

MM = 1e-3
"""Metres in a millimetre."""

GRAM = 1e-3
"""Kilograms in a gram."""

GPA = 1e9
"""Pascals in a gigapascal."""
