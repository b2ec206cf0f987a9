"""What was asked for by name: which horse that is, and why a vet practice gets nothing."""

from pipelines.sharing.consent import Consents
from pipelines.sharing.naming import first_written, same
from schemas.problem import Problem

MOST = 12  # names told in one line


def horse_called(known: Consents, called: str) -> str:
    """The code of the horse that is called so: by its code, or by a name that only one horse has.

    Raises Problem with what to write where it is none, or could be several.
    """
    if called in known.by_id:
        return called
    found = [one for one in known.horses if same(called) in (same(one["horse_id"]), same(one["horse_name"]))]
    if len(found) == 1:
        return found[0]["horse_id"]
    if found:
        raise Problem(f"{called} is the name of {len(found)} horses: write --horse {_either(found)}")
    names = sorted({one["horse_name"] for one in known.horses})
    raise Problem(f"no horse is called {called}: on record are {_some(names)}")


def label(known: Consents, horse_id: str) -> str:
    """The horse's name, with its code where the name is that of another too; a code that is not on record as it is."""
    name = known.by_id[horse_id]["horse_name"] if horse_id in known.by_id else horse_id
    alike = sum(same(one["horse_name"]) == same(name) for one in known.horses)
    return f"{name} ({horse_id})" if alike > 1 else name


def why_nothing(known: Consents, vet: str, horse: str | None = None) -> str:
    """Why no horse, or not this one, may be shared with a vet practice, and what to do."""
    held = "; ".join(one.line for one in known.held_from(vet, horse))
    if horse is not None:
        return f"horse {label(known, horse)} may not be shared with {vet}: {held or _why_not(known, vet, horse)}"
    own = [one for one in known.horses if known.of_vet(one, vet)]
    if held:
        return f"no horse may be shared with {vet}: {held}"
    if own:
        horses = "its one horse" if len(own) == 1 else f"any of its {len(own)} horses"
        return f"no horse may be shared with {vet}: share_with_vet does not say yes for {horses}"
    return f"no horse may be shared with {vet}: no horse has that vet_practice; {_practices(known)}"


def _why_not(known: Consents, vet: str, horse: str) -> str:
    one = known.by_id.get(horse)
    if one is None:
        return "it is not on record"
    if not known.of_vet(one, vet):
        return f"its vet_practice on record is {one['vet_practice'] or 'blank'}"
    return "share_with_vet does not say yes: its owner's consent must stand in the record"


def _practices(known: Consents) -> str:
    names = sorted(first_written(one["vet_practice"] or "" for one in known.horses).values())
    return f"on record are {_some(names)}" if names else "it is blank for every horse"


def _either(found: list[dict]) -> str:
    return " or ".join(f'"{one["horse_id"]}"' for one in found)


def _some(names: list[str]) -> str:
    more = f" and {len(names) - MOST} more" if len(names) > MOST else ""
    return f"{', '.join(names[:MOST])}{more}" if names else "no horses"
