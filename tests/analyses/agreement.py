"""Whether two rows say the same, a blank agreeing only with a blank."""

from math import isclose


def assert_agree(found, expected, about="", rel=1e-6) -> None:
    """found, expected: two dicts or two sequences of the same length; numbers within rel of one another."""
    if isinstance(expected, dict):
        for name, value in expected.items():
            assert _same(found[name], value, rel), f"{about} {name}: {found[name]} is not {value}"
    else:
        assert len(found) == len(expected), about
        for place, (mine, theirs) in enumerate(zip(found, expected, strict=True)):
            assert _same(mine, theirs, rel), f"{about} place {place}: {mine} is not {theirs}"


def _same(found, expected, rel) -> bool:
    if found is None or expected is None or isinstance(expected, str):
        return found == expected
    return isclose(found, expected, rel_tol=rel, abs_tol=1e-7)
