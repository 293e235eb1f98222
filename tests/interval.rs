//! Holds the intervals to an independent library, `maryada`, over random
//! intervals of many sizes: what it shows to be reachable lies inside ours,
//! results at random points lie inside, and where rounding is correct ours are
//! not wider than a step or two. The edges (zeros, infinities, crests, poles,
//! the play of whole numbers) have cases of their own.

use fastrand::Rng;
use locknut::mechanics::interval::{Interval, point, whole};
use maryada::{EnclosureOps, Interval as Oracle, IntervalOps};
use std::f64::consts::{FRAC_PI_2, PI};

const CASES: usize = 20_000;
/// The oracle works its waves in software, slowly.
const POINTS: usize = 3;

/// A number of a random size, now and then a round one.
fn number(random: &mut Rng, decades: std::ops::Range<i32>) -> f64 {
    if random.u8(0..8) == 0 {
        return f64::from(random.i32(-20..20));
    }
    (random.f64() * 2.0 - 1.0) * 10_f64.powi(random.i32(decades))
}

/// A random interval: a wide one, a narrow one around a number, or a point.
fn interval(random: &mut Rng, decades: std::ops::Range<i32>) -> Interval {
    let start = number(random, decades.clone());
    match random.u8(0..4) {
        0 => Interval::point(start),
        1 => Interval::new(start, number(random, decades)),
        2 => Interval::around(start),
        _ => Interval::new(start, start * (1.0 + random.f64() * 0.02)),
    }
}

fn inside(random: &mut Rng, x: Interval) -> f64 {
    match random.u8(0..6) {
        0 => x.lo,
        1 => x.hi,
        _ => (x.lo + (x.hi - x.lo) * random.f64()).clamp(x.lo, x.hi),
    }
}

fn oracle(x: Interval) -> Oracle {
    Oracle::new(x.lo, x.hi)
}

/// Steps of a double between two numbers, saturating.
fn steps(a: f64, b: f64) -> u64 {
    let place = |x: f64| {
        let bits = (x + 0.0).abs().to_bits().cast_signed();
        if x < 0.0 { -bits } else { bits }
    };
    place(a).abs_diff(place(b))
}

/// The oracle's result surely holds the true one, so ours must reach into it.
fn assert_reaches(ours: Interval, truth: Oracle, what: &str) {
    let (lo, hi) = truth.bounds();
    assert!(ours.lo <= hi && lo <= ours.hi, "{what}: {ours:?} misses [{lo:e}, {hi:e}]");
}

/// The oracle's result at a point surely holds the true one. Where the oracle pins the truth to within two steps, ours must hold
/// all of that: an end rounded the wrong way, or not widened, doesn't.
fn assert_holds(ours: Interval, truth: Oracle, what: &str) {
    assert_reaches(ours, truth, what);
    let (lo, hi) = truth.bounds();
    if steps(lo, hi) <= 2 {
        assert!(ours.lo <= lo && hi <= ours.hi, "{what}: {ours:?} cuts [{lo:e}, {hi:e}]");
    }
}

/// For operations that the oracle rounds as tightly as can be: ours hold its
/// result and are wider by a few steps at the most.
fn assert_close(ours: Interval, oracle: Oracle, most: u64, what: &str) {
    let (lo, hi) = oracle.bounds();
    assert!(ours.lo <= lo && hi <= ours.hi, "{what}: {ours:?} cuts [{lo:e}, {hi:e}]");
    let (below, above) = (steps(ours.lo, lo), steps(ours.hi, hi));
    assert!(below <= most && above <= most, "{what}: {ours:?} against [{lo:e}, {hi:e}]");
}

/// Runs an operation of two intervals against the oracle's and its own values.
fn check_pairs(
    seed: u64,
    name: &str,
    ours: impl Fn(Interval, Interval) -> Option<Interval>,
    theirs: impl Fn(Oracle, Oracle) -> Oracle,
    value: impl Fn(f64, f64) -> f64,
) {
    let mut random = Rng::with_seed(seed);
    let mut worked = 0;
    while worked < CASES {
        let (a, b) = (interval(&mut random, -6..7), interval(&mut random, -6..7));
        let Some(result) = ours(a, b) else { continue };
        worked += 1;
        let what = format!("{name} of {a:?} and {b:?}");
        assert_close(result, theirs(oracle(a), oracle(b)), 2, &what);
        for _ in 0..POINTS {
            let (x, y) = (inside(&mut random, a), inside(&mut random, b));
            assert!(result.contains(value(x, y)), "{what}: {x:e}, {y:e} outside {result:?}");
            let truth = theirs(oracle(Interval::point(x)), oracle(Interval::point(y)));
            assert_holds(result, truth, &what);
        }
    }
}

#[test]
fn addition_and_subtraction_hold_and_are_tight() {
    check_pairs(1, "sum", |a, b| Some(a + b), |a, b| a + b, |x, y| x + y);
    check_pairs(2, "difference", |a, b| Some(a - b), |a, b| a - b, |x, y| x - y);
}

#[test]
fn multiplication_and_division_hold_and_are_tight() {
    check_pairs(3, "product", |a, b| Some(a * b), |a, b| a * b, |x, y| x * y);
    check_pairs(4, "quotient", Interval::divide, |a, b| a / b, |x, y| x / y);
}

#[test]
fn smaller_and_larger_are_exact() {
    check_pairs(5, "min", |a, b| Some(a.min(b)), IntervalOps::min, f64::min);
    check_pairs(6, "max", |a, b| Some(a.max(b)), IntervalOps::max, f64::max);
}

/// A function of one interval, the oracle's twin, and how it is tried.
struct Single {
    name: &'static str,
    ours: fn(Interval) -> Option<Interval>,
    theirs: fn(Oracle) -> Oracle,
    value: fn(f64) -> f64,
    domain: fn(&mut Rng) -> Interval,
    /// Steps that our ends may differ from the oracle's; `None` where the
    /// oracle itself is wide.
    most: Option<u64>,
}

fn check_single(seed: u64, row: &Single) {
    let mut random = Rng::with_seed(seed);
    let mut worked = 0;
    while worked < CASES {
        let x = (row.domain)(&mut random);
        let Some(result) = (row.ours)(x) else {
            continue;
        };
        worked += 1;
        let what = format!("{} of {x:?}", row.name);
        if let Some(most) = row.most {
            assert_close(result, (row.theirs)(oracle(x)), most, &what);
        }
        for _ in 0..POINTS {
            let at = inside(&mut random, x);
            let value = (row.value)(at);
            assert!(result.contains(value), "{what}: at {at:e} {value:e} outside {result:?}");
        }
        let at = inside(&mut random, x);
        assert_holds(result, (row.theirs)(oracle(Interval::point(at))), &what);
    }
}

fn any(random: &mut Rng) -> Interval {
    interval(random, -6..7)
}

fn positive(random: &mut Rng) -> Interval {
    interval(random, -6..7).abs()
}

fn unit(random: &mut Rng) -> Interval {
    let x = interval(random, -6..1);
    Interval::new(x.lo.max(-1.0), x.hi.min(1.0))
}

fn power(random: &mut Rng) -> Interval {
    interval(random, -6..3)
}

/// Angles of up to some turns, many of them next to a multiple of a right angle.
fn angle(random: &mut Rng) -> Interval {
    let near = f64::from(random.i32(-40..40)) * FRAC_PI_2;
    match random.u8(0..3) {
        0 => interval(random, -6..3),
        1 => Interval::around(near) + Interval::point(number(random, -18..-3)),
        _ => Interval::new(near + number(random, -8..1), near + number(random, -8..1)),
    }
}

#[test]
fn roots_squares_and_sizes_hold_and_are_tight() {
    let rows = [
        Single {
            name: "sqrt",
            ours: Interval::sqrt,
            theirs: |x| x.sqrt(),
            value: point::sqrt,
            domain: positive,
            most: Some(2),
        },
        Single {
            name: "square",
            ours: |x| Some(x.square()),
            theirs: |x| x.sqr(),
            value: |x| x * x,
            domain: any,
            most: Some(2),
        },
        Single {
            name: "abs",
            ours: |x| Some(x.abs()),
            theirs: |x| x.abs(),
            value: f64::abs,
            domain: any,
            most: Some(0),
        },
        Single { name: "neg", ours: |x| Some(-x), theirs: |x| -x, value: |x| -x, domain: any, most: Some(0) },
    ];
    rows.iter().zip(10..).for_each(|(row, seed)| check_single(seed, row));
}

#[test]
fn angles_of_ratios_hold() {
    let rows = [
        Single {
            name: "asin",
            ours: Interval::asin,
            theirs: |x| x.asin(),
            value: point::asin,
            domain: unit,
            most: None,
        },
        Single {
            name: "acos",
            ours: Interval::acos,
            theirs: |x| x.acos(),
            value: point::acos,
            domain: unit,
            most: None,
        },
        Single {
            name: "atan",
            ours: |x| Some(x.atan()),
            theirs: |x| x.atan(),
            value: point::atan,
            domain: any,
            most: None,
        },
    ];
    rows.iter().zip(20..).for_each(|(row, seed)| check_single(seed, row));
}

#[test]
fn powers_of_e_and_logarithms_hold() {
    let rows = [
        Single {
            name: "exp",
            ours: |x| Some(x.exp()),
            theirs: |x| x.exp(),
            value: point::exp,
            domain: power,
            most: None,
        },
        Single { name: "ln", ours: Interval::ln, theirs: |x| x.log(), value: point::ln, domain: positive, most: None },
    ];
    rows.iter().zip(30..).for_each(|(row, seed)| check_single(seed, row));
}

#[test]
fn sines_and_cosines_hold() {
    let rows = [
        Single {
            name: "sin",
            ours: |x| Some(x.sin()),
            theirs: |x| x.sin(),
            value: point::sin,
            domain: angle,
            most: None,
        },
        Single {
            name: "cos",
            ours: |x| Some(x.cos()),
            theirs: |x| x.cos(),
            value: point::cos,
            domain: angle,
            most: None,
        },
    ];
    rows.iter().zip(40..).for_each(|(row, seed)| check_single(seed, row));
}

#[test]
fn tangents_hold() {
    let row =
        Single { name: "tan", ours: Interval::tan, theirs: |x| x.tan(), value: point::tan, domain: angle, most: None };
    check_single(50, &row);
}

#[test]
fn whole_powers_hold_both_the_true_power_and_the_repeated_product() {
    let mut random = Rng::with_seed(60);
    for _ in 0..CASES {
        let x = interval(&mut random, -3..4);
        let n = random.i32(-9..10);
        let Some(result) = x.powi(n) else {
            assert!(n < 0 && x.contains(0.0), "{x:?} to {n} has a power");
            continue;
        };
        let at = inside(&mut random, x);
        let what = format!("{x:?} to {n} at {at:e}");
        assert!(result.contains(point::powi(at, n)), "{what}: {result:?}");
        assert_reaches(result, oracle(Interval::point(at)).pown(n), &what);
        // Each product may widen by one step, and a step grows with the power.
        let (lo, hi) = oracle(x).pown(n).bounds();
        let most = 4 * u64::from(n.unsigned_abs()) + 2;
        assert!(
            steps(result.lo, lo) <= most && steps(result.hi, hi) <= most,
            "{what}: {result:?} against [{lo:e}, {hi:e}]"
        );
    }
}

#[test]
fn other_powers_hold() {
    let mut random = Rng::with_seed(61);
    for _ in 0..CASES {
        let (x, y) = (positive(&mut random), interval(&mut random, -2..2));
        let Some(result) = x.pow(y) else {
            assert!(x.lo == 0.0 && y.lo <= 0.0, "{x:?} to {y:?} has a power");
            continue;
        };
        let (base, exponent) = (inside(&mut random, x), inside(&mut random, y));
        let what = format!("{x:?} to {y:?} at {base:e}, {exponent:e}");
        assert!(result.contains(point::pow(base, exponent)), "{what}: {result:?}");
        let truth = oracle(Interval::point(base)).pow(oracle(Interval::point(exponent)));
        // Here our power is exact and the oracle's isn't.
        let exact = [0.0, 1.0].iter().any(|n| (base - n).abs() == 0.0 || (exponent - n).abs() == 0.0);
        if truth.is_empty() {
            assert_eq!(base.to_bits(), 0.0_f64.to_bits(), "{what}: the oracle has no power");
        } else if exact {
            assert_reaches(result, truth, &what);
        } else {
            assert_holds(result, truth, &what);
        }
        assert_eq!(x.powf(exponent), x.pow(Interval::point(exponent)));
    }
}

#[test]
fn directions_hold() {
    let mut random = Rng::with_seed(62);
    for _ in 0..CASES {
        let (y, x) = (any(&mut random), any(&mut random));
        let Some(result) = y.atan2(x) else {
            assert!(y.contains(0.0) && x.lo <= 0.0, "{y:?}, {x:?} has a direction");
            continue;
        };
        let (up, along) = (inside(&mut random, y), inside(&mut random, x));
        let what = format!("direction of {y:?}, {x:?} at {up:e}, {along:e}");
        assert!(result.contains(point::atan2(up, along)), "{what}: {result:?}");
        let truth = oracle(Interval::point(up)).atan2(oracle(Interval::point(along)));
        assert_holds(result, truth, &what);
    }
}

#[test]
fn whole_operands_stay_exact() {
    let whole_number = |x: i32| Interval::point(f64::from(x));
    for (a, b) in [(52, 17), (-3, 7), (0, 5), (1000, -1000)] {
        assert_eq!(whole_number(a) + whole_number(b), whole_number(a + b));
        assert_eq!(whole_number(a) - whole_number(b), whole_number(a - b));
        assert_eq!(whole_number(a) * whole_number(b), whole_number(a * b));
    }
    assert_eq!(whole_number(51).divide(whole_number(17)), Some(whole_number(3)));
    assert_eq!(whole_number(49).sqrt(), Some(whole_number(7)));
    assert_eq!(whole_number(3).powi(5), Some(whole_number(243)));
    // Beyond 2^53 a whole result may have been rounded.
    let limit = Interval::point(9_007_199_254_740_992.0);
    assert!((limit + whole_number(1)).width() >= 2.0);
    assert!((limit * whole_number(3)).width() > 0.0);
}

#[test]
fn zero_and_infinity_never_make_a_nan() {
    let values = [f64::NEG_INFINITY, f64::MIN, -1.0, -5e-324, -0.0, 0.0, 5e-324, 1.0, f64::MAX, f64::INFINITY];
    let all = || values.iter().flat_map(|&a| values.iter().map(move |&b| Interval::new(a, b)));
    for a in all() {
        for b in all() {
            let found = [
                Some(a + b),
                Some(a - b),
                Some(a * b),
                a.divide(b),
                a.pow(b),
                a.atan2(b),
                a.intersect(b),
                Some(a.hull(b)),
            ];
            assert!(found.into_iter().flatten().all(|x| x.lo <= x.hi), "{a:?}, {b:?}: {found:?}");
        }
        let found = [
            a.sqrt(),
            a.powi(3),
            a.powi(-2),
            Some(a.sin()),
            a.tan(),
            a.asin(),
            Some(a.atan()),
            Some(a.exp()),
            a.ln(),
            Some(a.floor()),
            Some(a.round()),
        ];
        assert!(found.into_iter().flatten().all(|x| x.lo <= x.hi), "{a:?}: {found:?}");
        assert!(a.mid().is_finite() || a.is_point(), "{a:?}");
        assert!(a.contains(a.mid()) && a.width() >= 0.0, "{a:?}");
    }
    let zero = Interval::point(0.0);
    assert_eq!(zero * Interval::WHOLE, zero);
    assert!(!Interval::WHOLE.is_bounded() && zero.is_bounded());
    let far = Interval::new(1.0, f64::INFINITY);
    assert_eq!(far.divide(far), Some(Interval::new(0.0, f64::INFINITY)));
    assert_eq!(Interval::new(f64::NAN, 1.0), Interval::WHOLE);
}

#[test]
fn what_has_no_answer_somewhere_inside_has_none() {
    let over_zero = Interval::new(-1.0, 1.0);
    let one = Interval::point(1.0);
    assert_eq!(one.divide(over_zero), None);
    assert_eq!(one.divide(Interval::new(0.0, 1.0)), None);
    assert_eq!(over_zero.powi(-2), None);
    assert_eq!(over_zero.sqrt(), None);
    assert_eq!(over_zero.powf(0.5), None);
    assert_eq!(Interval::new(0.0, 1.0).powf(-0.5), None);
    assert_eq!(Interval::new(0.0, 1.0).ln(), None);
    assert_eq!(Interval::new(0.0, 1.0_f64.next_up()).asin(), None);
    assert_eq!(Interval::new(-1.0_f64.next_up(), 0.0).acos(), None);
    assert_eq!(over_zero.atan2(over_zero), None);
    assert_eq!(over_zero.atan2(Interval::new(-2.0, -1.0)), None);
    assert_eq!(Interval::point(0.0).atan2(Interval::point(0.0)), None);
    assert_eq!(Interval::around(FRAC_PI_2).tan(), None);
    assert_eq!(Interval::new(4.0, 5.0).tan(), None);
    assert_eq!(one.intersect(Interval::new(2.0, 3.0)), None);
}

#[test]
fn powers_and_squares_around_zero_start_at_zero() {
    let x = Interval::new(-2.0, 1.0);
    assert_eq!(x.square(), Interval::new(0.0, 4.0));
    assert_eq!(x.powi(4), Some(Interval::new(0.0, 16.0)));
    assert_eq!(x.powi(3), Some(Interval::new(-8.0, 1.0)));
    assert_eq!(x.powi(0), Some(Interval::point(1.0)));
    assert_eq!(x.powi(1), Some(x));
    assert_eq!(x.abs(), Interval::new(0.0, 2.0));
    assert_eq!(
        Interval::new(2.0, 4.0).powi(-1),
        Some(Interval::new(0.25, 0.5).hull(Interval::around(0.25)).hull(Interval::around(0.5)))
    );
}

#[test]
fn repeated_products_are_worked_from_the_left() {
    let x = 1.1_f64;
    assert_eq!(point::powi(x, 5).to_bits(), ((((x * x) * x) * x) * x).to_bits());
    assert_eq!(point::powi(x, -3).to_bits(), (1.0 / ((x * x) * x)).to_bits());
    assert_eq!(point::powi(0.0, 0).to_bits(), 1.0_f64.to_bits());
}

#[test]
fn crests_and_troughs_are_taken() {
    assert_eq!(Interval::new(1.0, 2.0).sin().hi.to_bits(), 1.0_f64.to_bits());
    assert_eq!(Interval::new(4.0, 5.0).sin().lo.to_bits(), (-1.0_f64).to_bits());
    assert_eq!(Interval::new(-0.1, 0.1).cos().hi.to_bits(), 1.0_f64.to_bits());
    assert_eq!(Interval::new(3.0, 3.5).cos().lo.to_bits(), (-1.0_f64).to_bits());
    assert_eq!(Interval::new(0.0, 7.0).sin(), Interval::new(-1.0, 1.0));
    assert_eq!(Interval::WHOLE.cos(), Interval::new(-1.0, 1.0));
    // No crest between: the ends decide.
    let rise = Interval::new(-1.0, 1.0).sin();
    assert!(rise.lo > -0.842 && rise.hi < 0.842, "{rise:?}");
    assert_eq!(Interval::point(0.0).sin(), Interval::point(0.0));
    assert_eq!(Interval::point(0.0).cos(), Interval::point(1.0));
    // Near π the sine is small, and so is its interval.
    let small = Interval::around(PI).sin();
    assert!(small.contains(0.0) && small.width() < 2e-15, "{small:?}");
}

#[test]
fn whole_numbers_have_a_little_play() {
    for (x, floor, ceil, round) in [
        (2.0, 2.0, 2.0, 2.0),
        (2.000_000_000_5, 2.0, 2.0, 2.0),
        (1.999_999_999_5, 2.0, 2.0, 2.0),
        (1.999_999_99, 1.0, 2.0, 2.0),
        (2.000_000_01, 2.0, 3.0, 2.0),
        (2.5, 2.0, 3.0, 3.0),
        (2.499_999_999_5, 2.0, 3.0, 3.0),
        (2.499_999_99, 2.0, 3.0, 2.0),
        (-2.5, -3.0, -2.0, -3.0),
        (-2.499_999_999_5, -3.0, -2.0, -3.0),
        (-2.499_999_99, -3.0, -2.0, -2.0),
        (-0.3, -1.0, 0.0, 0.0),
        (0.499_999_999_999_999_94, 0.0, 1.0, 1.0),
        (4_503_599_627_370_497.0, 4_503_599_627_370_497.0, 4_503_599_627_370_497.0, 4_503_599_627_370_497.0),
        (9_007_199_254_740_991.0, 9_007_199_254_740_991.0, 9_007_199_254_740_991.0, 9_007_199_254_740_991.0),
        (f64::INFINITY, f64::INFINITY, f64::INFINITY, f64::INFINITY),
    ] {
        let found = [whole::floor(x), whole::ceil(x), whole::round(x)];
        assert_eq!(found.map(f64::to_bits), [floor, ceil, round].map(f64::to_bits), "{x}: {found:?}");
    }
    let x = Interval::new(1.7, 3.2);
    assert_eq!(
        [x.floor(), x.ceil(), x.round()],
        [Interval::new(1.0, 3.0), Interval::new(2.0, 4.0), Interval::new(2.0, 3.0)]
    );
}

#[test]
fn rounding_to_whole_numbers_is_monotone_and_holds() {
    let mut random = Rng::with_seed(70);
    for _ in 0..CASES {
        let middle = f64::from(random.i32(-400..400)) / 2.0;
        let x = Interval::new(middle + number(&mut random, -12..1), middle + number(&mut random, -12..1));
        let at = inside(&mut random, x);
        assert!(x.floor().contains(whole::floor(at)), "floor of {x:?} at {at}");
        assert!(x.ceil().contains(whole::ceil(at)), "ceil of {x:?} at {at}");
        assert!(x.round().contains(whole::round(at)), "round of {x:?} at {at}");
        // Away from the play the plain functions must agree.
        if (2.0 * at - (2.0 * at).round()).abs() > 1e-8 {
            let found = [whole::floor(at), whole::ceil(at), whole::round(at)];
            let plain = [at.floor(), at.ceil(), at.round()].map(|x| x + 0.0);
            assert_eq!(found.map(f64::to_bits), plain.map(f64::to_bits), "{at}");
        }
    }
}

#[test]
fn near_is_relative_to_the_larger() {
    assert!(whole::near(0.0, 0.0) && whole::near(0.0, -0.0));
    assert!(whole::near(44.0, 4.4 * 10.0) && whole::near(1e12, 1e12 + 500.0));
    assert!(!whole::near(1.0, 1.0 + 2e-9) && !whole::near(0.0, 1e-300));
    assert!(!whole::near(1e12, 1e12 + 2000.0) && !whole::near(-1.0, 1.0));
    assert!(whole::near(f64::INFINITY, f64::INFINITY));
    assert!(!whole::near(f64::INFINITY, f64::NEG_INFINITY) && !whole::near(f64::INFINITY, 1.0));
    assert!(!whole::near(f64::NAN, f64::NAN) && !whole::near(f64::MAX, f64::MIN));
}
