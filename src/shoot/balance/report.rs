//! What a balance found: powers, distances, what is met and by how much not, and ways out.

use serde::Serialize;

use super::distance::Move;
use super::solve::{Goal, Solution, Term};
use super::{Base, MET_STOPS, Set, Subject, advice, tidy};
use crate::optics::exposure;
use crate::optics::fstop;
use crate::plan::{Aperture, Plan};

/// The result of a balance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balanced {
    /// The camera's f-number.
    pub aperture: f64,
    /// ISO speed that the f-numbers are for.
    pub iso: f64,
    /// Shutter time in seconds that the room counts for.
    pub shutter_s: f64,
    /// The light that relative wishes are counted from.
    pub key: String,
    /// Lights that were wished for, in the plan's order.
    pub lights: Vec<BalancedLight>,
    /// The wishes, in their order.
    pub wishes: Vec<BalancedWish>,
    /// All together at the balance's own place, dome toward the camera, after the change.
    pub total: BalancedTotal,
    /// Most that the heads' steps cost any wish, in stops.
    pub rounding_stops: f64,
    /// Whether every wish is met within 0.05 stop but for the heads' steps.
    pub met: bool,
}

/// All lights and the room together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BalancedTotal {
    /// Where.
    pub place: String,
    /// What a meter will show.
    pub f_number: f64,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: f64,
}

/// One light's new setting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BalancedLight {
    /// The plan's name.
    pub name: String,
    /// Power before, stops below full.
    pub power_before_stops: f64,
    /// What the wishes ask for, above 0 or below the head's lowest where it cannot.
    pub power_asked_stops: f64,
    /// What is set: within the head's range, on its steps.
    pub power_stops: f64,
    /// Stops left up to full power.
    pub headroom_up_stops: f64,
    /// Stops left down to the head's lowest.
    pub headroom_down_stops: f64,
    /// From its front to the meter before, if it was to be moved, metres.
    pub distance_before_m: Option<f64>,
    /// The same after.
    pub distance_m: Option<f64>,
    /// What keeps it from its wish.
    pub limit: Option<Limit>,
}

/// A head that cannot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// In a word or two: `"too weak"`, `"too strong"`, `"cannot be moved so far"`.
    pub what: String,
    /// By so many stops.
    pub by_stops: f64,
    /// Why, where it is not the power.
    pub why: Option<String>,
    /// Ways out, each one enough.
    pub remedies: Vec<String>,
}

/// One wish and what becomes of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BalancedWish {
    /// The light's name; `"total"` for all together.
    pub of: String,
    /// As it was wished: `f/8`, `key −2`.
    pub wished: String,
    /// Where it is read.
    pub place: String,
    /// The f-number that it comes to.
    pub wished_f_number: f64,
    /// What a meter shows before the change.
    pub f_number_before: f64,
    /// What a meter will show.
    pub f_number: f64,
    /// How far that lies above the wish, in stops.
    pub off_stops: f64,
    /// The part of it that is due to the heads' steps.
    pub rounding_stops: f64,
    /// Standard error of the readings in stops, from tracing alone.
    pub error_stops: f64,
}

pub(super) fn report(
    before: &Plan,
    set: &Set<'_>,
    terms: &[Term],
    solution: &Solution,
    moves: &[Move],
) -> Balanced {
    let setting = super::gains::exposure(&set.plan);
    let c = set.plan.meter_constant;
    let f_number = |stops: f64| exposure::metered_f_number(stops.exp2(), setting.iso, c);
    let was: Vec<f64> = (0..set.names.len())
        .map(|i| {
            let name = &set.names[i];
            before.lights.iter().find(|light| light.name == *name).map_or(0.0, |l| l.power.stops)
        })
        .collect();
    let wishes: Vec<BalancedWish> = set
        .options
        .wishes
        .iter()
        .zip(terms)
        .map(|(wish, term)| {
            let place = set.place(wish);
            let (of, index) = match &wish.subject {
                Subject::Total => ("total".to_owned(), None),
                Subject::Light(name) => {
                    (name.clone(), set.names.iter().position(|known| known == name))
                }
            };
            let moved = moves.iter().find(|one| Subject::Light(one.light.clone()) == wish.subject);
            let goal = match &term.goal {
                Goal::Fixed(stops) => *stops,
                Goal::Above(other, stops) => other.stops(&solution.set) + stops,
            };
            let (off, rounding) = match moved {
                Some(moved) => (moved.off_stops, 0.0),
                None => {
                    let off = term.off(&solution.set);
                    (off, off - term.off(&solution.within))
                }
            };
            BalancedWish {
                of,
                wished: wished(wish.base, wish.stops),
                place: set.place_name(place),
                wished_f_number: f_number(goal),
                f_number_before: f_number(term.meter.stops(&was)),
                f_number: f_number(goal + off),
                off_stops: off,
                rounding_stops: rounding,
                error_stops: error_stops(set, place, index),
            }
        })
        .collect();
    let lights = (0..set.names.len())
        .filter(|&index| changed(set, index, solution, &was))
        .filter_map(|index| light(set, index, solution, was[index], moves))
        .collect();
    let total = set.together(0).stops(&set.powers());
    Balanced {
        aperture: setting.f_number,
        iso: setting.iso,
        shutter_s: setting.shutter_s,
        key: set.names[set.key].clone(),
        lights,
        total: BalancedTotal {
            place: set.place_name(0),
            f_number: f_number(total),
            stops_vs_camera: setting.stops_over(total.exp2(), c),
        },
        rounding_stops: wishes.iter().map(|w| w.rounding_stops.abs()).fold(0.0, f64::max),
        met: wishes.iter().all(|wish| (wish.off_stops - wish.rounding_stops).abs() <= MET_STOPS),
        wishes,
    }
}

/// Lights that were named or changed.
fn changed(set: &Set<'_>, index: usize, solution: &Solution, was: &[f64]) -> bool {
    let named = Subject::Light(set.names[index].clone());
    set.options.wishes.iter().any(|wish| wish.subject == named)
        || (solution.set[index] - was[index]).abs() > 1e-6
}

fn light(
    set: &Set<'_>,
    index: usize,
    solution: &Solution,
    was: f64,
    moves: &[Move],
) -> Option<BalancedLight> {
    let planned = set.planned(index)?;
    let lowest = planned.head.lowest.stops;
    let (asked, now) = (solution.asked[index], planned.power.stops);
    let moved = moves.iter().find(|one| one.light == set.names[index]);
    let one = set.readings[wish_place(set, index)].alone[index];
    let limit = match moved {
        Some(Move { stopped: Some(why), off_stops, .. }) if off_stops.abs() > MET_STOPS => {
            Some(Limit {
                what: "cannot be moved so far".into(),
                by_stops: -off_stops,
                why: Some(why.clone()),
                remedies: vec!["solve its power instead: leave it out of --move".into()],
            })
        }
        Some(_) => None,
        None if asked > 0.005 => Some(Limit {
            what: "too weak".into(),
            by_stops: asked,
            why: None,
            remedies: advice::too_weak(set, index, one, asked),
        }),
        None if asked < lowest - 0.005 => Some(Limit {
            what: "too strong".into(),
            by_stops: lowest - asked,
            why: None,
            remedies: advice::too_strong(set, index, one, lowest - asked),
        }),
        None => None,
    };
    Some(BalancedLight {
        name: set.names[index].clone(),
        power_before_stops: was,
        power_asked_stops: asked,
        power_stops: now,
        headroom_up_stops: tidy(-now),
        headroom_down_stops: tidy(now - lowest),
        distance_before_m: moved.map(|one| one.from_m),
        distance_m: moved.map(|one| one.to_m),
        limit,
    })
}

/// Index of the place where a light's own wish is read.
fn wish_place(set: &Set<'_>, index: usize) -> usize {
    let named = Subject::Light(set.names[index].clone());
    set.options.wishes.iter().find(|wish| wish.subject == named).map_or(0, |wish| set.place(wish))
}

fn error_stops(set: &Set<'_>, place: usize, light: Option<usize>) -> f64 {
    let share = match light {
        Some(index) => set.readings[place].alone[index].error,
        None => {
            let (mut sum, mut square) = (0.0, 0.0);
            for (one, power) in set.readings[place].together.iter().zip(set.powers()) {
                let lux_s = one.lux_s() * power.exp2();
                sum += lux_s;
                square += (one.error * lux_s).powi(2);
            }
            if sum > 0.0 { square.sqrt() / sum } else { 0.0 }
        }
    };
    (1.0 + share).log2()
}

/// A wish in words.
fn wished(base: Base, stops: f64) -> String {
    let base = match base {
        Base::Aperture(f_number) => {
            let name = fstop::reading(f_number, fstop::Step::Tenths);
            let exact = fstop::parse(&name).is_some_and(|n| (n / f_number - 1.0).abs() < 1e-3);
            if exact { name } else { Aperture { f_number }.to_string() }
        }
        Base::Camera => "camera".into(),
        Base::Key => "key".into(),
        Base::Total => "total".into(),
    };
    if stops == 0.0 {
        return base;
    }
    let sign = if stops < 0.0 { '−' } else { '+' };
    let size = stops.abs();
    let shown = if ((size * 10.0).round() / 10.0 - size).abs() < 1e-9 {
        format!("{}", (size * 10.0).round() / 10.0)
    } else {
        format!("{size:.2}")
    };
    format!("{base} {sign}{shown}")
}
