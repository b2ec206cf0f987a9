"""Names that belong to nobody: made by joining words that no register would hold together."""

import numpy as np

_HORSE_FIRST = (
    "Mossy", "Brindle", "Puddle", "Crumpet", "Thimble", "Soggy", "Wobbly", "Plaid", "Toasted", "Muddled", "Gingham",
    "Buttered", "Woolly", "Speckled", "Damp", "Rumpled", "Pickled", "Tangled", "Quilted", "Drowsy", "Dusty", "Knitted",
    "Crooked", "Peppered", "Borrowed", "Patched", "Marbled", "Humming", "Creaky", "Rusted", "Folded", "Jumbled",
    "Velvet", "Nettled", "Scorched", "Lopsided", "Hasty", "Sleepy", "Barley", "Clotted", "Oaten", "Hessian",
)  # fmt: skip
_HORSE_LAST = (
    "Teacup", "Kettle", "Button", "Gatepost", "Turnip", "Ladle", "Parsnip", "Bucket", "Doorbell", "Wheelbarrow",
    "Pudding", "Mitten", "Trowel", "Cushion", "Colander", "Pancake", "Hinge", "Biscuit Tin", "Umbrella", "Spoon",
    "Lampshade", "Cardigan", "Beanpole", "Teaspoon", "Haystack", "Bobbin", "Whisk", "Doormat", "Scarecrow", "Napkin",
    "Thermos", "Padlock", "Radish", "Galosh", "Tea Towel", "Coat Peg", "Eggcup", "Bootlace", "Saucepan", "Inkwell",
)  # fmt: skip
_PERSON_FIRST = (
    "Tansy", "Orrin", "Wilmot", "Bryony", "Jessamy", "Odo", "Peregrine", "Sorrel", "Linnet", "Cuthbert", "Merrily",
    "Fenwick", "Posy", "Barnaby", "Hester", "Lorcan", "Damaris", "Quentin", "Maudie", "Tobias", "Elspeth", "Godfrey",
)  # fmt: skip
_PERSON_LAST = (
    "Quillfeather", "Marrowby", "Thistlethatch", "Oddlington", "Puddlewick", "Hobbinsedge", "Cragglestone",
    "Wimblecott", "Fernicote", "Tumblegate", "Brackenmoot", "Snipwell", "Larksome", "Dapplethorpe", "Muckleby",
    "Nettlebeam-Wray", "Honeyditch", "Rushmirkle", "Clatterbeck", "Whinnyford", "Oxlipp", "Sedgebottom",
)  # fmt: skip
_FARRIER_FIRST = ("Ferrin", "Tamsel", "Odwin", "Ginnet", "Haskel", "Mirrel", "Corbin", "Sabra")
_FARRIER_LAST = ("Anvilwick", "Rasperby", "Clenchley", "Pritchlow", "Nippersome", "Tongsworth", "Burrhammer", "Toeclip")
_YARD_FIRST = (
    "Thistle End", "Crooked Gate", "Low Marrow", "Upper Puddle", "Nine Buckets", "Half Acre", "Windy Ditch",
    "Old Turnip", "Two Ladders", "Back Bramble", "Long Hedge", "Sunken Lane", "Far Whistle", "Pebble Cross",
    "Dripping Elm", "Broken Cart",
)  # fmt: skip
_YARD_LAST = ("Yard", "Barns", "Stables", "Livery", "Ranch", "Farm")


def horse_names(count: int, rng: np.random.Generator) -> list[str]:
    """`count` different names; past the words' combinations a number follows the name."""
    return _join(_HORSE_FIRST, _HORSE_LAST, count, rng)


def person_names(count: int, rng: np.random.Generator) -> list[str]:
    """`count` different names of invented people."""
    return _join(_PERSON_FIRST, _PERSON_LAST, count, rng)


def yard_names(count: int, rng: np.random.Generator) -> list[str]:
    """`count` different names of invented yards."""
    return _join(_YARD_FIRST, _YARD_LAST, count, rng)


def farrier_names(count: int) -> tuple[str, ...]:
    """`count` different names of invented farriers, always the same ones: a farrier ratio can name them."""
    size = len(_FARRIER_FIRST)
    return tuple(_numbered(f"{_FARRIER_FIRST[i % size]} {_FARRIER_LAST[(i + i // size) % size]}", i, size * size)
                 for i in range(count))  # fmt: skip


def contact(name: str) -> str:
    """An address at a domain kept free for examples (RFC 2606)."""
    return f"{name.lower().replace(' ', '.')}@example.org"


def _join(first: tuple[str, ...], last: tuple[str, ...], count: int, rng: np.random.Generator) -> list[str]:
    size = len(first) * len(last)
    order = rng.permutation(size).tolist()
    return [
        _numbered(f"{first[order[i % size] // len(last)]} {last[order[i % size] % len(last)]}", i, size)
        for i in range(count)
    ]


def _numbered(name: str, index: int, size: int) -> str:
    return name if index < size else f"{name} {index // size + 1}"
