"""aswound: what the bench should read as designed, against what it reads as wound."""

from importlib.metadata import version as _version

__version__ = _version("aswound")
