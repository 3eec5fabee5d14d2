"""Seam, limits and stock of one opening of a draft, as they were seen."""


def limits_as_seen(plan, opening) -> str:
    limits = (plan.step_permille, plan.closing_permille, plan.narrow_permille, plan.wide_permille)
    return "|".join(str(one) for one in (plan.planned_seam_nm, *limits, opening.stock_width_nm or ""))
