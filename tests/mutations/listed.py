"""All mistakes: survivors, of views, tokens drawn at random, of rooms with few, of
behaviour, thought of beforehand, constants moved."""

from __future__ import annotations

from behaviour import BEHAVIOUR
from by_room import BY_ROOM
from drawn_tokens import TOKENS
from moved import CONSTANTS
from survivors import SURVIVORS
from thought_of import THOUGHT_OF
from views import VIEWS

MISTAKES = (*SURVIVORS, *VIEWS, *TOKENS, *BY_ROOM, *BEHAVIOUR, *THOUGHT_OF, *CONSTANTS)
