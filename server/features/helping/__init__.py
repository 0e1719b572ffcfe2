"""The helper's side of a link: the sheet of a visit, or what is next, and the acts that the link allows."""
