"""A belt of a draft as it was seen: its name, its line and its strakes."""


def strakes_of_belt(belt, strakes) -> list:
    return [strake for strake in strakes if strake.plan.belt_id == belt.pk]


def belt_as_seen(belt, strakes) -> str:
    """Return all that the page of a belt lets one change, as one line."""
    labels = ",".join(strake.label for strake in strakes_of_belt(belt, strakes))
    return f"{belt.name}|{belt.at_line}|{labels}"
