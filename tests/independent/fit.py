"""Stem, bar, fork, frame and saddle, worked out a second time.

Each question is laid out as points: in the side view (x ahead, y up), in the plan (x ahead, y to the left) or in
space, as complex numbers or vectors. Distances and angles are then measured, and what is asked for backwards is found
by a root finder. Nothing here is taken from the steps of the formulas, save what the docstring of fork_swap names.
"""

from independent import spread
from mpmath import cos, diff, findroot, lu_solve, matrix, mpc, mpf, pi, polyroots, sin, sqrt

UP = mpc(0, 1)


def turned(angle):
    """A step of one, so many radians to the left of straight on."""
    return mpc(cos(angle), sin(angle))


def cross(one, other):
    return one.real * other.imag - one.imag * other.real


def angle_between(start, end):
    """From one direction to another, by the half-angle; to the left above zero."""
    both = start / abs(start) + end / abs(end)
    return 2 * atan_by_series(cross(start / abs(start), both) / (start / abs(start) * both.conjugate()).real)


def atan_by_series(slope):
    """The angle of a slope under 1, after halving it until the series is short."""
    halvings = 0
    while abs(slope) > mpf("0.01"):
        slope = slope / (1 + sqrt(1 + slope**2))
        halvings += 1
    total = sum((-1) ** n * slope ** (2 * n + 1) / (2 * n + 1) for n in range(14))
    return total * 2**halvings


# Stem and bar --------------------------------------------------------------------------------------------------------


def stem_alignment(sideways_offset, stem_reach, bar_width):
    """In the plan, right being up: the angle at which the turned stem puts the clamp beside the wheel's plane is
    found by a root finder, and the bar is then turned with it and its ends compared."""
    angle = findroot(lambda turn: (stem_reach * turned(turn)).imag - sideways_offset, sideways_offset / stem_reach)
    clamp = stem_reach * turned(angle)
    along_the_bar = turned(angle) * UP
    right_end, left_end = clamp + bar_width / 2 * along_the_bar, clamp - bar_width / 2 * along_the_bar
    return {"angle": (angle, "deg"), "bar_end_difference": ((left_end - right_end).real, "mm")}


def bar_ends(end_difference, bar_width, stem_reach):
    """The two measured points are placed in the plan, right being up; the bar's direction is measured against square
    by half-angles and a series, and the stem is drawn square to the bar."""
    abreast = sqrt(bar_width**2 - end_difference**2)
    left_end, right_end = mpc(end_difference, -abreast), mpc(0, 0)
    along_the_bar = (right_end - left_end) / bar_width
    clamp = stem_reach * along_the_bar / UP
    return {"angle": (angle_between(UP, along_the_bar), "deg"), "clamp_offset": (clamp.imag, "mm")}


def bar_centre(left_length, right_length):
    """The bar is laid along a line from its left end, with a clamp of some width: middle of bar less middle of
    clamp."""
    clamp_width = mpf(1) / 25
    left_end = mpf(0)
    clamp_left = left_end + left_length
    clamp_right = clamp_left + clamp_width
    right_end = clamp_right + right_length
    return {"offset": ((left_end + right_end) / 2 - (clamp_left + clamp_right) / 2, "mm")}


def stem_swap(head_angle, old_stem, old_angle, old_stem_height, new_stem, new_angle, new_stem_height):
    """The path from the headset top is walked in the side view: up the steerer, a right angle forward, up by the
    stem's angle, and along the stem."""

    def bar(stem, angle, height):
        heading = turned(pi - head_angle)
        corner = height * heading
        heading = heading / UP * turned(angle)
        return corner + stem * heading

    old, new = bar(old_stem, old_angle, old_stem_height), bar(new_stem, new_angle, new_stem_height)
    change = new - old
    return {
        "old_reach": (old.real, "mm"),
        "old_height": (old.imag, "mm"),
        "new_reach": (new.real, "mm"),
        "new_height": (new.imag, "mm"),
        "reach_change": (change.real, "mm"),
        "height_change": (change.imag, "mm"),
    }


# Fork ----------------------------------------------------------------------------------------------------------------


class SteeringAxis:
    """The side view with the tyre's contact at the origin: a point of the axis and its direction, down and ahead."""

    def __init__(self, wheel_radius, head_angle, fork_offset):
        axle = mpc(0, wheel_radius)
        self.down = turned(-head_angle)
        self.foot = axle - fork_offset * self.down * UP

    def trail(self):
        """How far ahead of the contact the axis meets the ground: foot + a down = b along the ground."""
        system = matrix([[self.down.real, -1], [self.down.imag, 0]])
        return lu_solve(system, matrix([-self.foot.real, -self.foot.imag]))[1]

    def distance_of_contact(self):
        """Of the contact at the origin behind the axis, square to it."""
        return cross(self.down, self.foot)


def trail(wheel_radius, head_angle, fork_offset):
    """Wheel and steering axis are drawn in the side view and the axis is cut with the ground; the flop factor is how
    fast the front sinks, the second derivative of the lowest point of a thin wheel turned about its axis in space."""
    axis = SteeringAxis(wheel_radius, head_angle, fork_offset)

    def lowest_point(steer):
        """Of the wheel below the steering axis held still, in space: x ahead, y to the left, z up."""
        direction = (-axis.down.real, mpf(0), -axis.down.imag)
        centre = (-axis.foot.real, mpf(0), wheel_radius - axis.foot.imag)
        axle_line = turned_about(direction, steer, (mpf(0), mpf(1), mpf(0)))
        centre = turned_about(direction, steer, centre)
        return centre[2] - wheel_radius * sqrt(1 - axle_line[2] ** 2)

    return {
        "trail": (axis.trail(), "mm"),
        "mechanical_trail": (axis.distance_of_contact(), "mm"),
        "flop": (diff(lowest_point, 0, 2), "mm"),
    }


def turned_about(direction, angle, vector):
    """A vector turned about a direction of length one."""
    along = sum(d * v for d, v in zip(direction, vector))
    x, y, z = direction
    a, b, c = vector
    square = (y * c - z * b, z * a - x * c, x * b - y * a)
    return [
        d * along + (v - d * along) * cos(angle) + s * sin(angle) for d, v, s in zip(direction, vector, square)
    ]


def fork_offset(wheel_radius, head_angle, trail):
    """The axis is drawn through the point of the ground where the trail puts it, and the axle's distance from it is
    measured."""
    down = turned(-head_angle)
    axle_from_ground_point = mpc(0, wheel_radius) - mpc(trail, 0)
    return {"fork_offset": (cross(down, axle_from_ground_point), "mm")}


def fork_swap(head_angle, wheelbase, length_change, wheel_radius, old_offset, new_offset):
    """The front comes up by the upright part of the lengthening, laid out along the axis; the frame's turn about the
    rear is found by a root finder, wheelbase and rise being its level and upright legs as in the formula (small
    changes); the trails are measured on the drawn axis."""
    rise = (length_change * turned(head_angle)).imag

    def off_the_line(turn):
        return cross(turned(turn), mpc(wheelbase, rise))

    turn = findroot(off_the_line, rise / wheelbase)
    new_head_angle = angle_between(mpc(1, 0), turned(head_angle) / turned(turn))
    return {
        "front_rise": (rise, "mm"),
        "new_head_angle": (new_head_angle, "deg"),
        "old_trail": (SteeringAxis(wheel_radius, head_angle, old_offset).trail(), "mm"),
        "new_trail": (SteeringAxis(wheel_radius, new_head_angle, new_offset).trail(), "mm"),
    }


# Frame ---------------------------------------------------------------------------------------------------------------


def ahead_of_bottom_bracket(straight, drop):
    """The axle's level distance: the circle round the bottom bracket cut with the line of the axles."""
    return max(root.real for root in polyroots([1, 0, drop**2 - straight**2], maxsteps=200, extraprec=200))


def toe_overlap(
    front_centre, bottom_bracket_drop, tyre_radius, pedal_offset, crank_length=mpf("0.17"), toe_length=mpf("0.1")
):
    """In space: the wheel is steered about the upright line through its axle until the part of its rim that is level
    with the pedal stands straight ahead of the pedal, by a root finder; pedal and toe are measured straight ahead to
    it."""
    axle = ahead_of_bottom_bracket(front_centre, bottom_bracket_drop)
    back_of_tyre = ahead_of_bottom_bracket(tyre_radius, bottom_bracket_drop)

    def tyre_point(steer):
        return axle - back_of_tyre * turned(steer)

    steer = findroot(lambda steer: -tyre_point(steer).imag - pedal_offset, pedal_offset / tyre_radius)
    pedal = crank_length
    toe = pedal + toe_length
    straight_ahead = tyre_point(steer).real
    return {"pedal_clearance": (straight_ahead - pedal, "mm"), "toe_clearance": (straight_ahead - toe, "mm")}


def wheelbase(chainstay, front_centre, bottom_bracket_drop):
    """Circles of chainstay and front centre round the bottom bracket are cut with the line through the axles, as
    roots of a polynomial, and the points found are measured."""
    rear = mpc(-ahead_of_bottom_bracket(chainstay, bottom_bracket_drop), bottom_bracket_drop)
    front = mpc(ahead_of_bottom_bracket(front_centre, bottom_bracket_drop), bottom_bracket_drop)
    return {
        "rear_level": (-rear.real, "mm"),
        "front_level": (front.real, "mm"),
        "wheelbase": (abs(front - rear), "mm"),
    }


def ground_clearance(
    bead_seat_diameter, tyre_height, bottom_bracket_drop, pedal_edge, crank_length=mpf("0.17"),
    pedal_underside=mpf("0.015"),
):
    """Heights are built downwards from the top of the tyre; then the bike, seen from behind, is leant about the line
    of the tyre contacts until the pedal's edge is on the ground, by a root finder."""
    wheel = bead_seat_diameter + 2 * tyre_height
    axle_height = wheel - tyre_height - bead_seat_diameter / 2
    bracket_height = axle_height - bottom_bracket_drop
    pedal_height = bracket_height - (crank_length + pedal_underside)
    edge = mpc(pedal_edge, pedal_height)
    lean = findroot(lambda lean: (edge * turned(-lean)).imag, (0, pi / 2), solver="anderson")
    return {
        "bottom_bracket_height": (bracket_height, "mm"),
        "pedal_height": (pedal_height, "mm"),
        "lean_angle": (lean, "deg"),
    }


def frame_alignment(right_gap, left_gap, tube_distance, string_length):
    """In the plan with the tubes on the middle line: half of a dropout width and the sideways place of the dropouts
    are solved for from the two measured gaps, for a head tube and a seat tube of some width."""
    head_half, seat_half = mpf(17) / 1000, mpf(14) / 1000
    along = tube_distance / string_length
    # Right string at the seat tube: (1 - along)(offset + half) + along head_half = seat_half + right_gap; left alike.
    system = matrix([[1 - along, 1 - along], [-(1 - along), 1 - along]])
    strings = matrix([seat_half + right_gap - along * head_half, seat_half + left_gap - along * head_half])
    return {"offset": (lu_solve(system, strings)[0], "mm")}


# Saddle --------------------------------------------------------------------------------------------------------------


def saddle_for_crank(saddle_height, old_crank, new_crank):
    """Seat tube as a line with the bottom bracket at 0: the saddle is moved so that its distance from the lowest pedal
    stays, by a root finder, and the distances from the highest pedal are compared."""
    lowest, highest = -1, 1

    def stretch(saddle, crank, end):
        return abs(saddle - end * crank)

    new_height = findroot(
        lambda saddle: stretch(saddle, new_crank, lowest) - stretch(saddle_height, old_crank, lowest), saddle_height
    )
    room = stretch(new_height, new_crank, highest) - stretch(saddle_height, old_crank, highest)
    return {"new_height": (new_height, "mm"), "knee_room": (room, "mm")}


def seatpost_insertion(post_length, exposed, post_diameter, factor=mpf(2)):
    """The post is a line from its lower end up: where it leaves the frame, and where its insertion mark sits; the
    margin is the distance from the mark down from the frame's edge."""
    saddle_end = post_length
    frame_edge = saddle_end - exposed
    mark = factor * post_diameter
    return {"inserted": (frame_edge, "mm"), "minimum": (mark, "mm"), "margin": (frame_edge - mark, "mm")}


FORMULAS = {
    "stem-alignment": (stem_alignment, [
        {"sideways_offset": "3.0 mm", "stem_reach": "98 mm", "bar_width": "420 mm"},
        {"sideways_offset": "-1.5 mm", "stem_reach": "42 mm", "bar_width": "780 mm"},
        {"sideways_offset": "2 mm", "stem_reach": "60 mm", "bar_width": "500 mm"},
        {"sideways_offset": "0.125 in", "stem_reach": "4 in", "bar_width": "24 in"},
        {"sideways_offset": "-80 mm", "stem_reach": "90 mm", "bar_width": "1200 mm"},
        {"sideways_offset": "0.5 mm", "stem_reach": "15 mm", "bar_width": "200 mm"},
        *spread(5, sideways_offset=("-9.0", "9.0", "mm"), stem_reach=("30", "140", "mm"),
                bar_width=("380", "820", "mm")),
    ]),
    "bar-ends": (bar_ends, [
        {"end_difference": "11 mm", "bar_width": "420 mm", "stem_reach": "98 mm"},
        {"end_difference": "-7 mm", "bar_width": "780 mm", "stem_reach": "42 mm"},
        {"end_difference": "4 mm", "bar_width": "560 mm", "stem_reach": "75 mm"},
        {"end_difference": "0.25 in", "bar_width": "16.5 in", "stem_reach": "3.5 in"},
        {"end_difference": "-150 mm", "bar_width": "200 mm", "stem_reach": "250 mm"},
        *spread(6, end_difference=("-25.0", "25.0", "mm"), bar_width=("380", "820", "mm"),
                stem_reach=("30", "140", "mm")),
    ]),
    "bar-centre": (bar_centre, [
        {"left_length": "187.0 mm", "right_length": "191.5 mm"},
        {"left_length": "357 mm", "right_length": "353 mm"},
        {"left_length": "255 mm", "right_length": "255 mm"},
        {"left_length": "7.5 in", "right_length": "7.625 in"},
        {"left_length": "20 mm", "right_length": "600 mm"},
        *spread(5, left_length=("170.0", "390.0", "mm"), right_length=("170.0", "390.0", "mm")),
    ]),
    "stem-swap": (stem_swap, [
        {"head_angle": "73 deg", "old_stem": "100 mm", "old_angle": "-6 deg", "old_stem_height": "30 mm",
         "new_stem": "90 mm", "new_angle": "6 deg", "new_stem_height": "30 mm"},
        {"head_angle": "65.5 deg", "old_stem": "50 mm", "old_angle": "0 deg", "old_stem_height": "20 mm",
         "new_stem": "35 mm", "new_angle": "0 deg", "new_stem_height": "30 mm"},
        {"head_angle": "72.5 deg", "old_stem": "120 mm", "old_angle": "-17 deg", "old_stem_height": "20 mm",
         "new_stem": "80 mm", "new_angle": "35 deg", "new_stem_height": "45 mm"},
        {"head_angle": "70 deg", "old_stem": "4 in", "old_angle": "10 deg", "old_stem_height": "1 in",
         "new_stem": "3 in", "new_angle": "25 deg", "new_stem_height": "1.5 in"},
        {"head_angle": "90 deg", "old_stem": "10 mm", "old_angle": "-60 deg", "old_stem_height": "0 mm",
         "new_stem": "220 mm", "new_angle": "80 deg", "new_stem_height": "250 mm"},
        *spread(6, head_angle=("62.0", "76.0", "deg"), old_stem=("35", "130", "mm"), old_angle=("-17", "40", "deg"),
                old_stem_height=("10", "60", "mm"), new_stem=("35", "130", "mm"), new_angle=("-17", "40", "deg"),
                new_stem_height=("10", "60", "mm")),
    ]),
    "trail": (trail, [
        {"wheel_radius": "340 mm", "head_angle": "73 deg", "fork_offset": "45 mm"},
        {"wheel_radius": "372 mm", "head_angle": "64.5 deg", "fork_offset": "44 mm"},
        {"wheel_radius": "205 mm", "head_angle": "71 deg", "fork_offset": "30 mm"},
        {"wheel_radius": "345 mm", "head_angle": "72 deg", "fork_offset": "65 mm"},
        {"wheel_radius": "13.5 in", "head_angle": "68 deg", "fork_offset": "2 in"},
        {"wheel_radius": "90 mm", "head_angle": "88 deg", "fork_offset": "-120 mm"},
        {"wheel_radius": "460 mm", "head_angle": "45 deg", "fork_offset": "160 mm"},
        *spread(6, wheel_radius=("200", "375", "mm"), head_angle=("62.0", "76.0", "deg"),
                fork_offset=("20.0", "70.0", "mm")),
    ]),
    "fork-offset": (fork_offset, [
        {"wheel_radius": "340 mm", "head_angle": "73 deg", "trail": "57 mm"},
        {"wheel_radius": "372 mm", "head_angle": "65 deg", "trail": "122 mm"},
        {"wheel_radius": "205 mm", "head_angle": "71 deg", "trail": "45 mm"},
        {"wheel_radius": "13.5 in", "head_angle": "68.5 deg", "trail": "3 in"},
        {"wheel_radius": "90 mm", "head_angle": "90 deg", "trail": "-50 mm"},
        {"wheel_radius": "460 mm", "head_angle": "45 deg", "trail": "250 mm"},
        *spread(5, wheel_radius=("200", "375", "mm"), head_angle=("62.0", "76.0", "deg"),
                trail=("30.0", "130.0", "mm")),
    ]),
    "fork-swap": (fork_swap, [
        {"head_angle": "73 deg", "wheelbase": "990 mm", "length_change": "10 mm", "wheel_radius": "340 mm",
         "old_offset": "45 mm", "new_offset": "45 mm"},
        {"head_angle": "67 deg", "wheelbase": "1190 mm", "length_change": "20 mm", "wheel_radius": "370 mm",
         "old_offset": "44 mm", "new_offset": "51 mm"},
        {"head_angle": "71 deg", "wheelbase": "1040 mm", "length_change": "-40 mm", "wheel_radius": "345 mm",
         "old_offset": "48 mm", "new_offset": "45 mm"},
        {"head_angle": "72 deg", "wheelbase": "1760 mm", "length_change": "35 mm", "wheel_radius": "350 mm",
         "old_offset": "50 mm", "new_offset": "55 mm"},
        {"head_angle": "70 deg", "wheelbase": "31 in", "length_change": "0.5 in", "wheel_radius": "10 in",
         "old_offset": "1.5 in", "new_offset": "1.25 in"},
        {"head_angle": "45 deg", "wheelbase": "500 mm", "length_change": "-120 mm", "wheel_radius": "90 mm",
         "old_offset": "-120 mm", "new_offset": "160 mm"},
        *spread(5, head_angle=("62.0", "75.0", "deg"), wheelbase=("950", "1280", "mm"),
                length_change=("-45.0", "60.0", "mm"), wheel_radius=("250", "375", "mm"),
                old_offset=("25.0", "60.0", "mm"), new_offset=("25.0", "60.0", "mm")),
    ]),
    "toe-overlap": (toe_overlap, [
        {"front_centre": "595 mm", "bottom_bracket_drop": "70 mm", "tyre_radius": "340 mm", "crank_length": "172.5 mm",
         "pedal_offset": "125 mm"},
        {"front_centre": "745 mm", "bottom_bracket_drop": "25 mm", "tyre_radius": "372 mm", "pedal_offset": "130 mm",
         "toe_length": "110 mm"},
        {"front_centre": "570 mm", "bottom_bracket_drop": "75 mm", "tyre_radius": "348 mm", "pedal_offset": "118 mm"},
        {"front_centre": "480 mm", "bottom_bracket_drop": "-40 mm", "tyre_radius": "205 mm", "crank_length": "127 mm",
         "pedal_offset": "105 mm", "toe_length": "60 mm"},
        {"front_centre": "24 in", "bottom_bracket_drop": "2.5 in", "tyre_radius": "13.4 in", "crank_length": "6.5 in",
         "pedal_offset": "5 in", "toe_length": "4 in"},
        {"front_centre": "1500 mm", "bottom_bracket_drop": "150 mm", "tyre_radius": "460 mm", "crank_length": "80 mm",
         "pedal_offset": "260 mm", "toe_length": "0 mm"},
        *spread(5, front_centre=("560", "800", "mm"), bottom_bracket_drop=("-20", "80", "mm"),
                tyre_radius=("280", "375", "mm"), crank_length=("150.0", "180.0", "mm"),
                pedal_offset=("110", "150", "mm"), toe_length=("70", "130", "mm")),
    ]),
    "wheelbase": (wheelbase, [
        {"chainstay": "410 mm", "front_centre": "590 mm", "bottom_bracket_drop": "70 mm"},
        {"chainstay": "438 mm", "front_centre": "790 mm", "bottom_bracket_drop": "30 mm"},
        {"chainstay": "1120 mm", "front_centre": "640 mm", "bottom_bracket_drop": "72 mm"},
        {"chainstay": "17 in", "front_centre": "24.5 in", "bottom_bracket_drop": "2.5 in"},
        {"chainstay": "150 mm", "front_centre": "2500 mm", "bottom_bracket_drop": "-120 mm"},
        {"chainstay": "300 mm", "front_centre": "430 mm", "bottom_bracket_drop": "-35 mm"},
        *spread(5, chainstay=("395.0", "480.0", "mm"), front_centre=("560.0", "820.0", "mm"),
                bottom_bracket_drop=("-30.0", "85.0", "mm")),
    ]),
    "ground-clearance": (ground_clearance, [
        {"bead_seat_diameter": "622 mm", "tyre_height": "28 mm", "bottom_bracket_drop": "70 mm",
         "crank_length": "172.5 mm", "pedal_underside": "12 mm", "pedal_edge": "178 mm"},
        {"bead_seat_diameter": "584 mm", "tyre_height": "60 mm", "bottom_bracket_drop": "15 mm",
         "pedal_edge": "190 mm"},
        {"bead_seat_diameter": "305 mm", "tyre_height": "44 mm", "bottom_bracket_drop": "-45 mm",
         "crank_length": "114 mm", "pedal_edge": "150 mm"},
        {"bead_seat_diameter": "622 mm", "tyre_height": "24 mm", "bottom_bracket_drop": "60 mm",
         "crank_length": "165 mm", "pedal_underside": "10 mm", "pedal_edge": "165 mm"},
        {"bead_seat_diameter": "406 mm", "tyre_height": "50 mm", "bottom_bracket_drop": "-1 in",
         "pedal_underside": "0.5 in", "pedal_edge": "7 in"},
        {"bead_seat_diameter": "720 mm", "tyre_height": "150 mm", "bottom_bracket_drop": "-150 mm",
         "crank_length": "80 mm", "pedal_underside": "0 mm", "pedal_edge": "60 mm"},
        *spread(5, bead_seat_diameter=["559 mm", "584 mm", "622 mm"], tyre_height=("23.0", "66.0", "mm"),
                bottom_bracket_drop=("-20", "80", "mm"), crank_length=("150.0", "180.0", "mm"),
                pedal_underside=("8.0", "20.0", "mm"), pedal_edge=("150", "210", "mm")),
    ]),
    "saddle-for-crank": (saddle_for_crank, [
        {"saddle_height": "742 mm", "old_crank": "175 mm", "new_crank": "165 mm"},
        {"saddle_height": "690 mm", "old_crank": "170 mm", "new_crank": "172.5 mm"},
        {"saddle_height": "520 mm", "old_crank": "152 mm", "new_crank": "127 mm"},
        {"saddle_height": "28.5 in", "old_crank": "6.9 in", "new_crank": "6.5 in"},
        {"saddle_height": "300 mm", "old_crank": "230 mm", "new_crank": "80 mm"},
        *spread(5, saddle_height=("550", "830", "mm"), old_crank=("140.0", "180.0", "mm"),
                new_crank=("140.0", "180.0", "mm")),
    ]),
    "frame-alignment": (frame_alignment, [
        {"right_gap": "31.0 mm", "left_gap": "29.0 mm", "tube_distance": "420 mm", "string_length": "900 mm"},
        {"right_gap": "28.5 mm", "left_gap": "30.5 mm", "tube_distance": "400 mm", "string_length": "880 mm"},
        {"right_gap": "30 mm", "left_gap": "30 mm", "tube_distance": "410 mm", "string_length": "905 mm"},
        {"right_gap": "36.5 mm", "left_gap": "35 mm", "tube_distance": "1105 mm", "string_length": "1640 mm"},
        {"right_gap": "1.25 in", "left_gap": "1.125 in", "tube_distance": "15 in", "string_length": "34 in"},
        {"right_gap": "0 mm", "left_gap": "150 mm", "tube_distance": "150 mm", "string_length": "2500 mm"},
        *spread(5, right_gap=("24.0", "40.0", "mm"), left_gap=("24.0", "40.0", "mm"),
                tube_distance=("380", "470", "mm"), string_length=("820", "1050", "mm")),
    ]),
    "seatpost-insertion": (seatpost_insertion, [
        {"post_length": "350 mm", "exposed": "210 mm", "post_diameter": "27.2 mm"},
        {"post_length": "300 mm", "exposed": "255 mm", "post_diameter": "31.6 mm"},
        {"post_length": "400 mm", "exposed": "250 mm", "post_diameter": "30.9 mm", "factor": "3"},
        {"post_length": "12 in", "exposed": "6.5 in", "post_diameter": "1 in", "factor": "2.5"},
        {"post_length": "700 mm", "exposed": "650 mm", "post_diameter": "60 mm", "factor": "6"},
        *spread(3, post_length=("250", "450", "mm"), exposed=("60", "240", "mm"), post_diameter=("25.0", "34.9", "mm")),
        *spread(3, post_length=("250", "450", "mm"), exposed=("60", "240", "mm"), post_diameter=("25.0", "34.9", "mm"),
                factor=("1.5", "4.0", "")),
    ]),
}
