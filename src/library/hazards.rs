//! Hazards and their standing cautions: what a sheet says without being asked.
//!
//! A guide names its hazards in front matter; each brings these sentences. They are the usual cautions of the trade
//! (common practice, no source), defer to marking and maker, and use the same words as the formulas' own cautions,
//! so that one caution is shown once.

use crate::text::Spanned;

/// Each hazard with its cautions.
pub const HAZARDS: &[(&str, &[&str])] = &[
    (
        "drivetrain",
        &[
            "Keep fingers, sleeves and laces out of a turning chain.",
            "Chain pins and joining links are not used twice unless their maker says so: close the chain with the part made for it, and check that the joint bends freely.",
        ],
    ),
    (
        "wheel-fixing",
        &[
            "Wheel back in: a quick release is closed as a cam, with a firm push of the lever, not screwed tight; a thru axle goes to its marked torque. Lift the wheel and hit the tyre from above before riding.",
        ],
    ),
    (
        "brakes",
        &[
            "After any brake work pull hard at a standstill, then try at walking pace; a brake that feels soft, drags or squeals goes to a qualified mechanic.",
        ],
    ),
    (
        "steering",
        &[
            "Steering: bar, stem and fork must not turn in your hands with the bike held still; follow the marked torques, and stop riding if anything slips or creaks.",
        ],
    ),
    (
        "pressure",
        &[
            "Never above the lower of the limits marked on tyre and rim; a hookless (straight-side) rim has its own, lower limit, which goes by the width of the tyre: if you do not know it, ask before you put air in.",
            "Inflate in small steps, face and hands away from the rim edge, and see that the bead line runs even all round on both sides before going on; a tyre that blows off can hurt eyes and ears.",
        ],
    ),
    (
        "carbon",
        &[
            "Carbon: the marked torque is a maximum; carbon paste where the maker says so. In a work stand clamp the seat post (a carbon one only where its maker allows it), never a carbon tube. Stop at a crack, a creak or a crushed spot; a cracked or crushed part is scrap.",
        ],
    ),
    ("chemicals", &["Solvents: gloves on, keep the air moving, no flame, and none near brake pads or rotors."]),
    (
        "electrics",
        &[
            "Switch off and take the battery out before work; never open a battery or a motor, and never charge one that is damaged, wet or hot.",
        ],
    ),
    (
        "suspension",
        &[
            "Let all air out of a spring before opening it, by its valve; a fork or shock under pressure is opened by a qualified mechanic only.",
        ],
    ),
    (
        "cutting",
        &["Cutting: glasses on, the part clamped, the edge deburred; measure twice, since what is cut off stays off."],
    ),
];

/// The cautions that a page's hazards bring, in their order.
pub fn cautions_of(hazards: &[Spanned<String>]) -> impl Iterator<Item = String> {
    let of = |hazard: &Spanned<String>| {
        HAZARDS.iter().find(|(name, _)| *name == hazard.value).map_or(&[] as &[&str], |(_, cautions)| cautions)
    };
    hazards.iter().flat_map(of).map(|text| (*text).to_owned())
}
