"""Arrays inside frozen values: checked once, read-only afterwards."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def frozen(values: object, shape: tuple[int | None, ...], dtype: type = np.float64) -> NDArray[np.generic]:
    """Return a read-only copy of ``values``; ``None`` in ``shape`` stands for any length.

    Raises
    ------
    ValueError
        If the shape differs, which is a fault of the caller.
    """
    array: NDArray[np.generic] = np.array(values, dtype=dtype)
    _check_shape(array, shape)
    array.flags.writeable = False
    return array


def freeze(owner: object, **fields: tuple[tuple[int | None, ...], type]) -> None:
    """Replace the named fields of a frozen dataclass by read-only, shape-checked copies."""
    for name, (shape, dtype) in fields.items():
        object.__setattr__(owner, name, frozen(getattr(owner, name), shape, dtype))


def seal(owner: object, **fields: tuple[tuple[int | None, ...], type]) -> None:
    """Check the named arrays of a dataclass and make them read-only where they lie.

    For arrays too large to be copied, which their maker hands over for good.

    Raises
    ------
    ValueError
        If a shape or a kind of number differs, which is a fault of the caller.
    """
    for name, (shape, dtype) in fields.items():
        array = getattr(owner, name)
        _check_shape(array, shape)
        if array.dtype != dtype:
            raise ValueError(f"{name} holds {array.dtype}, expected {np.dtype(dtype)}")
        array.flags.writeable = False


def _check_shape(array: NDArray[np.generic], shape: tuple[int | None, ...]) -> None:
    if array.ndim != len(shape) or any(
        s is not None and s != n for s, n in zip(shape, array.shape, strict=True)
    ):
        raise ValueError(f"array of shape {array.shape}, expected {shape}")
