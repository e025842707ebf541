"""The options by which a maker says what a plan shall reach and where it must stop."""

from typing import Annotated

import typer

Want = Annotated[
    list[str] | None,
    typer.Option(
        metavar="MODE=HZ",
        help="A wish, as in 5=346, or mass=68 in g; may be repeated. Left out: those of plate.toml.",
    ),
]
Keep = Annotated[
    list[str] | None,
    typer.Option(metavar="MODE", help="A mode that is to stay as it is; may be repeated."),
]
MinThickness = Annotated[
    list[str] | None,
    typer.Option(
        metavar="MM|ZONE=MM|FILE.csv",
        help='How thin it may get: mm, and mm for a zone such as "between the holes=2.8" or "lower bout, '
        "bass side=2.5\", may be repeated; or a map x_mm,y_mm,t_mm. Left out: plate.toml's.",
    ),
]
MaxRemoval = Annotated[
    float | None,
    typer.Option(
        metavar="MM",
        help="The deepest cut. Left out: a quarter of the mean thickness, which is 0.6 mm on the top of a violin.",
        show_default=False,
    ),
]
Symmetric = Annotated[
    bool | None,
    typer.Option(
        "--symmetric/--asymmetric",
        help="Take the same on both sides of the centre line, or from each side what serves. Left out: the same "
        "where the plate has no bar and its two sides are alike within 0.1 mm.",
        show_default=False,
    ),
]
Passes = Annotated[
    int | None,
    typer.Option(metavar="N", help="In how many passes, 2 to 6. Left out: 2.", show_default=False),
]
