//! Distances that give wished readings at the powers that are set.
//!
//! A first distance follows from the front's size and from what comes straight; the head is then
//! set up there and read again, and the next distance follows from both readings (the secant rule
//! in stops over log distance). A handful of readings, no picture.

use super::advice::distance_for;
use super::solve::Term;
use super::{MET_STOPS, OneLight, Set, Subject, read_place};
use crate::plan::{Length, Place, Plan};
use crate::shoot::ShootError;
use crate::shoot::options::Progress;
use crate::shoot::read_meter::lit_tracer;
use crate::stage;

/// Readings taken for one light at most.
const TRIES: usize = 6;
/// A distance is right within this many stops: well inside what is promised.
const RIGHT_STOPS: f64 = 0.02;
/// Slope of a reading over log2 distance that is assumed before two are known.
const INVERSE_SQUARE: f64 = -2.0;

/// How one light was moved.
#[derive(Debug, Clone)]
pub(super) struct Move {
    /// The light's name.
    pub light: String,
    /// From its front to the meter before, metres.
    pub from_m: f64,
    /// The same after.
    pub to_m: f64,
    /// What is left of the wish, in stops.
    pub off_stops: f64,
    /// Why it could not go as far as it should.
    pub stopped: Option<String>,
}

/// Moves the lights that are to be moved; the set's plan, stage and readings follow.
pub(super) fn solve(
    set: &mut Set<'_>,
    terms: &[Term],
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Vec<Move>, ShootError> {
    let mut moves = Vec::new();
    for name in &set.options.moved {
        let wished = |subject: &Subject| *subject == Subject::Light(name.clone());
        let wish = set.options.wishes.iter().position(|wish| wished(&wish.subject));
        let index = set.names.iter().position(|known| known == name);
        if let (Some(wish), Some(index)) = (wish, index) {
            progress(Progress { done: 0.9, step: "moving" });
            moves.push(one(set, terms, name, wish, index)?);
        }
    }
    if !moves.is_empty() {
        // what all give together has changed with them
        let mut tracer = lit_tracer(&set.plan, &set.stage);
        let again = read_place(&set.plan, &set.stage, &mut tracer, &set.places[0], set.options)?;
        set.readings[0].together = again.together;
    }
    Ok(moves)
}

fn one(
    set: &mut Set<'_>,
    terms: &[Term],
    name: &str,
    wish: usize,
    index: usize,
) -> Result<Move, ShootError> {
    let place = set.place(&set.options.wishes[wish]);
    let powers = set.powers();
    // the goal does not move with the light, unless it is the key itself
    let goal = terms[wish].meter.stops(&powers) - terms[wish].off(&powers);
    let off = |one: &OneLight| one.lux_s().log2() + powers[index] - goal;
    let away = |set: &Set<'_>, one: &OneLight| {
        let source = set.stage.lights.iter().find(|light| light.name == name);
        source.map_or(0.0, |light| f64::from(one.position.distance(light.source.position)))
    };
    let first = set.readings[place].alone[index];
    let from_m = away(set, &first);
    // tried so far: log2 of the distance's factor, and how far off the reading was
    let mut tried = vec![(0.0, off(&first))];
    let mut best = tried[0];
    let start = set.plan.clone();
    let mut stopped = None;
    while best.1.abs() > RIGHT_STOPS && tried.len() < TRIES {
        let (at, now) = tried[tried.len() - 1];
        let factor = if tried.len() == 1 {
            let source = &set.stage.lights.iter().find(|light| light.name == name);
            source
                .and_then(|light| distance_for(&light.source, first, from_m, -now))
                .map_or(now / -INVERSE_SQUARE, |to| (to / from_m).log2())
        } else {
            let (other, was) = tried[tried.len() - 2];
            let slope = (now - was) / (at - other);
            let slope = if slope < -0.2 { slope } else { INVERSE_SQUARE };
            at - now / slope
        };
        let factor = factor.clamp(at - 1.5, at + 1.5);
        if (factor - at).abs() < 1e-3 {
            break;
        }
        let mut plan = start.clone();
        move_light(&mut plan, name, factor.exp2());
        let built = match stage::build(&plan) {
            Ok(built) => built,
            Err(error) => {
                let (problem, remedy) = error.told();
                stopped = Some(format!("{problem}; {remedy}"));
                break;
            }
        };
        let mut tracer = lit_tracer(&plan, &built);
        tracer.scene.lights.retain(|light| light.name == name);
        let mut only = plan.clone();
        only.lights.retain(|light| light.name == name);
        only.ambient = None;
        let reading = read_place(&only, &built, &mut tracer, &set.places[place], set.options)?;
        let found = reading.alone.first().copied().unwrap_or_default();
        if found.lux_s() <= 0.0 {
            stopped = Some("there its light does not reach the place any more".into());
            break;
        }
        let result = (factor, off(&found));
        tried.push(result);
        if result.1.abs() < best.1.abs() {
            best = result;
            set.plan = plan;
            set.stage = built;
            set.readings[place].alone[index] = found;
        }
    }
    let to_m = away(set, &set.readings[place].alone[index]);
    if best.1.abs() > MET_STOPS && stopped.is_none() {
        stopped = Some("what comes by way of the room does not change with its distance".into());
    }
    Ok(Move { light: name.into(), from_m, to_m, off_stops: best.1, stopped })
}

/// Moves a light along its line: toward its target, or along the floor to the stage mark at its
/// height.
fn move_light(plan: &mut Plan, name: &str, factor: f64) {
    let Some(light) = plan.lights.iter_mut().find(|light| light.name == name) else { return };
    let scaled = |length: &Length| {
        // to half a centimetre: nobody sets a stand finer
        Length { metres: (length.metres * factor * 200.0).round() / 200.0, unit: length.unit }
    };
    match &mut light.place {
        Place::Around { distance, .. } | Place::Stand { distance, .. } => {
            *distance = scaled(distance);
        }
        Place::At { x, z, .. } => {
            *x = scaled(x);
            *z = scaled(z);
        }
    }
}
