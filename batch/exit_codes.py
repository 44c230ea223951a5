"""Exit codes of every verb, for scripts."""

from __future__ import annotations

SERVED = 0
NOT_SERVED = 1
INPUT_WRONG = 2
