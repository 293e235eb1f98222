"""Chains worked from first principles, to check the engine's drivetrain formulas: a taut loop, link by link.

The loop round ring and sprocket is what it reaches in every direction, summed; whole pairs are put on one by one.
"""

import mpmath
from mpmath import mpf

from independent import spread

HALF_INCH = mpf("0.0127")
NOTHING = mpf(0)


# Chains: a taut loop round two wheels


def pin_radius(teeth, pitch):
    """Radius of the circle on which `teeth` pins stand one pitch apart, by closing the polygon with unit steps."""
    step = mpmath.expj(2 * mpmath.pi / teeth)
    return pitch / abs(step - 1)


def turned_from(stay, chainring, sprocket, pitch):
    """Direction, from straight ahead at the ring, in which ring and sprocket reach equally far: there the chain leaves.

    The ring sits at the origin, the sprocket behind it at -stay. Seen along direction t the ring reaches R_f and the
    sprocket R_r - stay·cos t.
    """
    ring, cog = pin_radius(chainring, pitch), pin_radius(sprocket, pitch)
    return mpmath.findroot(lambda t: ring - (cog - stay * mpmath.cos(t)), mpmath.pi / 2)


def loop(stay, chainring, sprocket, pitch):
    """(pitches round the loop, teeth engaged on the ring, teeth engaged on the sprocket).

    The length of a taut loop is its reach summed over all directions (Cauchy), so the straight runs are what is left
    of that length when the two arcs are taken out. Each engaged tooth then carries one pitch in place of its bit of
    arc. """
    ring, cog = pin_radius(chainring, pitch), pin_radius(sprocket, pitch)
    leave = turned_from(stay, chainring, sprocket, pitch)
    on_ring, on_cog = 2 * leave, 2 * (mpmath.pi - leave)
    behind = mpmath.quad(lambda t: cog - stay * mpmath.cos(t), [leave, mpmath.pi])
    around = 2 * (mpmath.quad(lambda t: ring, [0, leave]) + behind)
    straight = around - ring * on_ring - cog * on_cog
    ring_teeth = chainring * on_ring / (2 * mpmath.pi)
    cog_teeth = sprocket * on_cog / (2 * mpmath.pi)
    return straight / pitch + ring_teeth + cog_teeth, ring_teeth, cog_teeth


def pairs_reaching(links):
    """Whole pairs put on (or taken off, below zero) until they reach `links`."""
    pairs = 0
    while 2 * pairs < links:
        pairs += 1
    while 2 * (pairs - 1) >= links:
        pairs -= 1
    return mpf(pairs)


def chain_length(chainstay, chainring, sprocket, allowance=mpf(2), pitch=HALF_INCH):
    """Pulls a loop taut round the two pin circles, takes its length from its reach in all directions, counts a pitch
    for each engaged tooth, and adds pairs until the loop reaches; the short rule walks along the stay and back."""
    exact, ring_teeth, cog_teeth = loop(chainstay, chainring, sprocket, pitch)
    pairs = pairs_reaching(exact + allowance)
    rule = (2 * chainstay + pitch * (chainring + sprocket) / 2 + pitch * allowance) / pitch
    return {
        "exact": (exact, "link"),
        "links": (2 * pairs, "link"),
        "pairs": (pairs, ""),
        "length": (sum((2 * pitch for _ in range(int(pairs))), NOTHING), "mm"),
        "by_rule": (rule, "link"),
        "engaged_teeth": (ring_teeth if chainring < sprocket else cog_teeth, "tooth"),
    }


def chainring_change(chainstay, old_chainring, new_chainring, sprocket, links_on_bike, pitch=HALF_INCH):
    """Lays a taut loop round the old and round the new ring, its length taken from its reach in all directions, and
    compares the two with each other and with the chain on the bike; pairs are counted in until the loop reaches."""
    before, _, _ = loop(chainstay, old_chainring, sprocket, pitch)
    after, _, _ = loop(chainstay, new_chainring, sprocket, pitch)
    return {
        "change": (after - before, "link"),
        "pairs": (pairs_reaching(after - before), ""),
        "slack_left": (links_on_bike - after, "link"),
    }


def chain_slack(links, chainstay, chainring, sprocket, with_derailleur=mpf(1), pitch=HALF_INCH):
    """Lays a taut loop round ring and sprocket, its length taken from its reach in all directions, and takes it from
    the chain; the derailleur changes the warnings only."""
    needed, _, _ = loop(chainstay, chainring, sprocket, pitch)
    return {"slack": (links - needed, "link"), "slack_length": (links * pitch - needed * pitch, "mm")}


def cage_swap(old_cage, new_cage, pitch=HALF_INCH):
    """Folds the chain flat along each cage, down one side and back up the other, and counts whole pairs that fit into
    the difference, none for a shorter cage."""

    def folded(cage):
        down_and_back = [NOTHING, cage, NOTHING]
        return sum(abs(there - here) for here, there in zip(down_and_back, down_and_back[1:]))

    extra = max(NOTHING, folded(new_cage) - folded(old_cage))
    pairs = 0
    while 2 * pitch * (pairs + 1) <= extra:
        pairs += 1
    return {"exact": (extra / pitch, "link"), "pairs_at_most": (mpf(pairs), "")}


def axle_position(links, chainring, sprocket, pitch=HALF_INCH):
    """Moves the axle with a root finder until a loop laid taut round the two wheels, its length taken from its reach
    in all directions, holds just the links of the chain."""
    guess = pitch * (links - (chainring + sprocket) / 2) / 2
    stay = mpmath.findroot(lambda c: loop(c, chainring, sprocket, pitch)[0] - links, (guess * 0.98, guess))
    return {"centre": (stay, "mm")}


# Wear: link by link


def strung_out(links, link_length):
    return sum((link_length for _ in range(int(links))), NOTHING)


def chain_wear(measured, links=mpf(24), pitch=HALF_INCH):
    """Strings new links out one by one beside the worn piece, and shares the growth out over them."""
    new = strung_out(links, pitch)
    growth_of_one = measured / links - pitch
    return {"elongation": (growth_of_one / pitch, "%"), "growth": (measured - new, "mm")}


def chain_gauge(links=mpf(24), limit=mpf("0.0075"), pitch=HALF_INCH):
    """Stretches each link by its share and strings the links out one by one."""

    def grown(share):
        return strung_out(links, pitch + share * pitch), "mm"

    return {
        "new_length": grown(NOTHING),
        "limit_length": grown(limit),
        "at_half": grown(mpf(1) / 200),
        "at_three_quarters": grown(mpf(3) / 400),
        "at_one": grown(mpf(1) / 100),
    }


FORMULAS = {
    "chain-length": (
        chain_length,
        [
            {"chainstay": "410 mm", "chainring": "50 tooth", "sprocket": "28 tooth"},
            {"chainstay": "440 mm", "chainring": "32 tooth", "sprocket": "52 tooth", "allowance": "4 link"},
            {"chainstay": "280 mm", "chainring": "28 tooth", "sprocket": "16 tooth", "allowance": "0 link"},
            {"chainstay": "17.5 in", "chainring": "46 tooth", "sprocket": "18 tooth", "allowance": "0 link"},
            {
                "chainstay": "760 mm",
                "chainring": "40 tooth",
                "sprocket": "40 tooth",
                "allowance": "2 link",
                "pitch": "12.7 mm",
            },
            {
                "chainstay": "1500 mm",
                "chainring": "80 tooth",
                "sprocket": "7 tooth",
                "allowance": "20 link",
                "pitch": "9.525 mm",
            },
        ]
        + spread(
            3, chainstay=("395.0", "480.0", "mm"), chainring=("28", "53", "tooth"), sprocket=("10", "52", "tooth")
        )
        + spread(
            3,
            chainstay=("400", "1500", "mm"),
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            allowance=("0", "20", "link"),
            pitch=("5.00", "25.40", "mm"),
        ),
    ),
    "chainring-change": (
        chainring_change,
        [
            {
                "chainstay": f"{c} mm",
                "old_chainring": f"{a} tooth",
                "new_chainring": f"{b} tooth",
                "sprocket": f"{r} tooth",
                "links_on_bike": f"{n} link",
            }
            for c, a, b, r, n in [
                (410, 50, 52, 28, 108),
                (438, 32, 30, 51, 116),
                (435, 44, 48, 34, 112),
                (385, 36, 33, 20, 92),
                (1450, 39, 48, 36, 286),
            ]
        ]
        + [
            {
                "chainstay": "425 mm",
                "old_chainring": "38 tooth",
                "new_chainring": "42 tooth",
                "sprocket": "18 tooth",
                "links_on_bike": "100 link",
                "pitch": "12.7 mm",
            },
        ]
        + spread(
            3,
            chainstay=("395.0", "480.0", "mm"),
            old_chainring=("28", "50", "tooth"),
            new_chainring=("28", "50", "tooth"),
            sprocket=("24", "52", "tooth"),
            links_on_bike=("98", "124", "link"),
        )
        + spread(
            2,
            chainstay=("500", "1500", "mm"),
            old_chainring=("9", "80", "tooth"),
            new_chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            links_on_bike=("30", "400", "link"),
            pitch=("8.00", "25.40", "mm"),
        ),
    ),
    "chain-slack": (
        chain_slack,
        [
            {"links": "110 link", "chainstay": "410 mm", "chainring": "34 tooth", "sprocket": "11 tooth"},
            {"links": "124 link", "chainstay": "445 mm", "chainring": "34 tooth", "sprocket": "51 tooth"},
            {
                "links": "98 link",
                "chainstay": "430 mm",
                "chainring": "42 tooth",
                "sprocket": "16 tooth",
                "with_derailleur": "0",
            },
            {
                "links": "74 link",
                "chainstay": "285 mm",
                "chainring": "32 tooth",
                "sprocket": "16 tooth",
                "with_derailleur": "1",
                "pitch": "12.7 mm",
            },
            {"links": "102 link", "chainstay": "16.5 in", "chainring": "52 tooth", "sprocket": "36 tooth"},
        ]
        + spread(
            3,
            links=("104", "126", "link"),
            chainstay=("395.0", "480.0", "mm"),
            chainring=("28", "53", "tooth"),
            sprocket=("10", "52", "tooth"),
        )
        + spread(
            3,
            links=("30", "400", "link"),
            chainstay=("400", "1500", "mm"),
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            with_derailleur=["0", "1"],
            pitch=("6.00", "25.40", "mm"),
        ),
    ),
    "cage-swap": (
        cage_swap,
        [
            {"old_cage": "56 mm", "new_cage": "83 mm"},
            {"old_cage": "75 mm", "new_cage": "105 mm", "pitch": "12.7 mm"},
            {"old_cage": "98 mm", "new_cage": "74 mm"},
            {"old_cage": "15 mm", "new_cage": "150 mm"},
            {"old_cage": "2.2 in", "new_cage": "3.9 in"},
        ]
        + spread(3, old_cage=("45.0", "75.0", "mm"), new_cage=("75.0", "115.0", "mm"))
        + spread(3, old_cage=("15.0", "90.0", "mm"), new_cage=("60.0", "150.0", "mm"), pitch=("5.00", "30.00", "mm")),
    ),
    "axle-position": (
        axle_position,
        [
            {"links": "98 link", "chainring": "44 tooth", "sprocket": "17 tooth"},
            {"links": "72 link", "chainring": "25 tooth", "sprocket": "9 tooth"},
            {"links": "94 link", "chainring": "48 tooth", "sprocket": "15 tooth", "pitch": "12.7 mm"},
            {"links": "101 link", "chainring": "42 tooth", "sprocket": "18 tooth"},
            {"links": "108 link", "chainring": "32 tooth", "sprocket": "32 tooth"},
            {"links": "300 link", "chainring": "9 tooth", "sprocket": "70 tooth", "pitch": "60 mm"},
        ]
        + spread(3, links=("86", "112", "link"), chainring=("32", "53", "tooth"), sprocket=("12", "24", "tooth"))
        + spread(
            3,
            links=("160", "300", "link"),
            chainring=("9", "80", "tooth"),
            sprocket=("7", "70", "tooth"),
            pitch=("5.00", "30.00", "mm"),
        ),
    ),
    "chain-wear": (
        chain_wear,
        [
            {"measured": "306 mm"},
            {"measured": "304.5 mm"},
            {"measured": "12.125 in", "links": "24 link"},
            {"measured": "1273 mm", "links": "100 link", "pitch": "12.7 mm"},
            {"measured": "51.2 mm", "links": "4 link"},
        ]
        + spread(3, measured=("304.80", "309.00", "mm"))
        + spread(3, measured=("609.00", "620.00", "mm"), links="48 link", pitch=("12.600", "12.750", "mm")),
    ),
    "chain-gauge": (
        chain_gauge,
        [
            {},
            {"limit": "0.5 %"},
            {"links": "100 link", "limit": "0.8 %", "pitch": "12.7 mm"},
            {"links": "24 link", "pitch": "9.525 mm"},
            {"links": "150 link", "limit": "3 %", "pitch": "60 mm"},
        ]
        + spread(3, links=("4", "150", "link"), limit=("0.05", "3.00", "%"))
        + spread(3, links=("4", "150", "link"), limit=("0.30", "1.00", "%"), pitch=("5.000", "60.000", "mm")),
    ),
}
