"""aswound: what the bench should read as designed, against what it reads as wound."""


def __getattr__(name: str) -> str:
    """``__version__``, looked up when it is asked for: the way in must not wait for it."""
    if name == "__version__":
        from importlib.metadata import version

        return version("aswound")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
