"""Readers that behave as libraries do over a hostile file; called in the bounded process of `test_bounded_reading`."""

import os
import signal
import sys

from solver.core.errors import InputError


def echo(value: object) -> object:
    """Give back what it is called with, after printing as no reader should."""
    print("noise")
    sys.stdout.flush()
    os.write(1, b"more noise")
    return value


def refuse(name: str) -> None:
    """Refuse in a sentence."""
    raise InputError(f"{name}: it is none; expected one. Bring another.")


def stumble() -> None:
    """Raise what nobody foresaw."""
    raise KeyError("0")


def flood() -> bytes:
    """Ask for more memory than there may be."""
    return bytes(1_500_000_000)


def crash() -> None:
    """End as native code does that reads where it must not."""
    os.kill(os.getpid(), signal.SIGSEGV)


def leave() -> None:
    """End the process without an answer."""
    os._exit(7)


def turn() -> None:
    """Turn on the spot for ever."""
    while True:
        pass


def sleep() -> None:
    """Wait for ever without using the processor."""
    while True:
        signal.pause()
