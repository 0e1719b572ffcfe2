"""Addresses of designs, with their pieces, bungs and joints."""


def design(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}"


def design_choice(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/choice"


def design_copy(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/copy"


def design_removal(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/removal"


def design_return(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/return"


def pieces(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces"


def piece(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}"


def piece_cut(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/cut"


def piece_whole(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/whole"


def piece_swap(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/swap"


def piece_undo(build_id: int, design_id: int, piece_id: int) -> str:
    """Where a piece gets back what it was before its last save."""
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/undo"


def piece_look(build_id: int, design_id: int, piece_id: str, told: str = "") -> str:
    """A design with the editor of one piece open; `told`: what was just done, e.g. "piece-7"."""
    news = f"&told={told}" if told else ""
    return f"/builds/{build_id}/designs/{design_id}?piece={piece_id}{news}#editor"


def piece_move(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/move"


def piece_removal(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/removal"


def piece_return(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/return"


def bungs(build_id: int, design_id: int, piece_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/bungs"


def bung_removal(build_id: int, design_id: int, bung_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/bungs/{bung_id}/removal"


def joint(build_id: int, design_id: int, joint_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/joints/{joint_id}"


def joint_copy(build_id: int, design_id: int, joint_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/joints/{joint_id}/copy"


def isometric(build_id: int, design_id: int, side: str = "") -> str:
    """A design's isometric drawing; `side`: where one looks from, such as "above"."""
    looked = f"?side={side}" if side else ""
    return f"/builds/{build_id}/designs/{design_id}/isometric{looked}"


def cuts(build_id: int, design_id: int) -> str:
    """A design's cut sheet."""
    return f"/builds/{build_id}/designs/{design_id}/cuts"


def cuts_pdf(build_id: int, design_id: int, paper: str) -> str:
    """The cut sheet on paper: "a4" or "letter"."""
    return f"/builds/{build_id}/designs/{design_id}/cuts.pdf?paper={paper}"


def concessions(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/concessions"
