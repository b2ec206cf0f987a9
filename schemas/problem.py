"""Problem: the one kind of error that is for people."""


class Problem(Exception):
    """Something the person at the keyboard can mend. Its text is one clear line; the command ends with exit code 2."""
