"""The one kind of error that is meant for the maker."""


class InputError(Exception):
    """A sentence for the maker: where it is; what it is; what was expected; what to do.

    Raised wherever something that a person wrote or chose cannot be used. Only the command line and the
    bench catch it; every other exception is a fault of the program.
    """
