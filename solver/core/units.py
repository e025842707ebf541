"""Units: SI inside; everything else is converted here, once, at the edge."""

MM = 1e-3
"""Metres in a millimetre."""

GRAM = 1e-3
"""Kilograms in a gram."""

GPA = 1e9
"""Pascals in a gigapascal."""

OUNCE_G = 28.349523125
"""Grams in an avoirdupois ounce, exact by definition (international yard and pound agreement, 1959)."""
