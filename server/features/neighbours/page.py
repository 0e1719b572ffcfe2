"""What the fields of a neighbour are called."""

LABELS = {
    "what": "What it is",
    "name": "Its name",
    "piece_id": "Beside which piece",
    "gap": "Gap",
    "stood": "The car stood",
    "warmth": "The engine was",
    "frame": "It moves with",
    "moves": "It comes towards the run by",
    "width": "Width, as the run sees it",
    "material": "What of it heat harms first",
    "protection": "Between it and the run",
}
SIZES = ("gap", "moves", "width")
