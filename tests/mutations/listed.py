"""All mistakes: those that once survived, those of views, tokens drawn at random, constants moved."""

from __future__ import annotations

from drawn_tokens import TOKENS
from moved import CONSTANTS
from survivors import SURVIVORS
from views import VIEWS

MISTAKES = (*SURVIVORS, *VIEWS, *TOKENS, *CONSTANTS)
