"""What people write, looked at as text."""

from __future__ import annotations


def says_something(text: str) -> bool:
    """Whether a text has a letter or a digit in any script: blanks, dashes and what cannot be seen
    name nobody and give no reason."""
    return any(char.isalnum() for char in text)
