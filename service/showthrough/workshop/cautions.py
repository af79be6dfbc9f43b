"""What can hurt a furniture painter, and where the facts come from.

Cautions are shown with every answer. They are not advice on law: local codes and
licensed practice come first, and each limit is told with the rule that it is from.
"""

from __future__ import annotations

_LOCAL = (
    "These are reminders, not instructions: product labels, safety data sheets, local codes and "
    "licensed practice come first."
)

_LEAD = (
    "Paint of the past may hold lead: test before sanding, stripping or heating any finish that "
    "could be older than your country's ban (in the US, paint for consumers and furniture has been "
    "limited to 0.009 % lead since 14 August 2009, 16 CFR 1303; earlier limits were higher). If it "
    "does, or if you cannot tell, do not dry-sand it; leave it to certified practice. Rules for "
    "homes built before 1978 (40 CFR 745) may apply to built-in furniture."
)

_DUST = (
    "Sanding dust: extract it at the tool and wear a particle filter (N95 or better; it does not "
    "stop vapour). Wood dust can cause cancer of the nose; limits are 1 mg/m3 (NIOSH), and in the "
    "EU 2 mg/m3 for hardwood dust."
)

_VAPOUR = (
    "Vapour: give it moving air. A particle mask does not stop vapour; organic-vapour cartridges "
    "have a limited life and must fit."
)

_SPRAY = (
    "Spraying fills the air with paint: use a spray place or the open air, no flame, heater or "
    "spark near it, and a respirator for paint spray. Two-pack paints with isocyanates are for "
    "trained users with supplied air: sensitisation is permanent."
)

_AEROSOL = "Aerosol cans are pressurised and flammable: keep them cool and away from any spark."

_RAGS = (
    "Rags with drying oil (linseed and other oil paints and stains) can catch fire by themselves "
    "within hours: lay them flat outside to dry or keep them under water in a closed metal can."
)

_RUNS_UM = {"brush": 150.0, "roller": 120.0, "spray": 120.0, "aerosol": 50.0}
"""Wet film that an upright face usually holds without runs, µm (from memory)."""

_CHILDREN = (
    "For a child's furniture use paint that is declared fit for toys, and let it cure as its label "
    "says: dry is not cured."
)


def cautions_for(
    *,
    tool: str,
    past_paint: bool,
    wood_kinds: tuple[str, ...] = (),
    wet_film_um: float = 0.0,
) -> list[str]:
    """Cautions for a job, most serious first.

    Args:
        tool: brush, roller, spray or aerosol.
        past_paint: some of the surface has an earlier finish.
        wood_kinds: what the patches are made of.
        wet_film_um: wet film of one coat; above what usually holds, runs are warned of.

    Source:
        16 CFR 1303; 40 CFR 745; 42 CFR 84.170; NIOSH and Directive (EU) 2017/2398 for wood
        dust; REACH Annex XVII entry 74 for isocyanates; 29 CFR 1910.125 for rags. The rest
        is common practice, no source.
    """
    out = []
    if wet_film_um > _RUNS_UM.get(tool, wet_film_um):
        out.append(
            f"A coat of {wet_film_um:.0f} µm wet is more than usually holds by {tool} without runs "
            f"on an upright face (about {_RUNS_UM[tool]:.0f} µm, from memory): plan thinner coats."
        )
    if past_paint:
        out.append(_LEAD)
    # Raw wood is sanded, an earlier finish scuffed, a coat cut back: every job makes dust.
    out.append(_DUST)
    if tool in {"spray", "aerosol"}:
        out.append(_SPRAY)
    if tool == "aerosol":
        out.append(_AEROSOL)
    out.append(_VAPOUR)
    if "waxed" in wood_kinds or "polished" in wood_kinds:
        out.append(
            "Removers for wax and polish are flammable solvents: gloves, air, no flame, and the "
            "rags outdoors."
        )
    out.extend([_RAGS, _CHILDREN, _LOCAL])
    return out
