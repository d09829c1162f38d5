//! Wished readings in, powers (or distances) out.
//!
//! Every place that a wish names is read once, each light at full power; powers follow from those
//! readings by least squares ([`solve`]), cross-light and the room included, without rendering.
//! A light whose distance is asked for is read again at a few distances, since a large front and a
//! room do not follow the square of it.

mod advice;
mod distance;
mod options;
mod report;
mod solve;

use glam::Vec3;

pub use options::{BalanceOptions, Base, Subject, Wish};
pub use report::{Balanced, BalancedLight, BalancedWish, Limit};

use super::ShootError;
use super::gains;
use super::options::{DomeAim, MeterOptions, MeterPoint, Progress};
use super::read_meter::{Found, levels, lit_tracer, look};
use crate::layers::LightKind;
use crate::optics::color::luminance_f64;
use crate::optics::exposure;
use crate::plan::{Plan, Power};
use crate::stage::{self, Stage};
use crate::trace::Tracer;
use solve::{Dial, Goal, Meter, Term};

/// A wish is met within this many stops, before the heads' steps are counted.
pub const MET_STOPS: f64 = 0.05;

/// What lights give at one place, at full power, in lx·s.
struct Reading {
    /// Each light of the tracer, with the dome as it looks for that light alone.
    alone: Vec<OneLight>,
    /// Each light with the dome toward the camera.
    together: Vec<OneLight>,
}

/// One light at one place.
#[derive(Debug, Clone, Copy, Default)]
struct OneLight {
    direct_lux_s: f64,
    bounced_lux_s: f64,
    /// Standard error as a share.
    error: f64,
    position: Vec3,
}

impl OneLight {
    fn lux_s(&self) -> f64 {
        self.direct_lux_s + self.bounced_lux_s
    }
}

/// Everything that is known before the powers are solved.
struct Set<'a> {
    plan: Plan,
    stage: Stage,
    options: &'a BalanceOptions,
    /// Names in the tracer's order; the room's last.
    names: Vec<String>,
    /// Places of the wishes, the balance's own first.
    places: Vec<MeterPoint>,
    readings: Vec<Reading>,
    /// Index of the key among the names.
    key: usize,
}

/// Finds the powers and distances that meet the wishes. The plan comes back with them set, as far
/// as the heads go.
pub fn balance(
    plan: &Plan,
    options: &BalanceOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<(Plan, Balanced), ShootError> {
    progress(Progress { done: 0.0, step: "building" });
    let mut lit = plan.clone();
    for light in &mut lit.lights {
        // who asks for a light's reading wants it on
        let asked = |wish: &Wish| wish.subject == Subject::Light(light.name.clone());
        light.on |= options.wishes.iter().any(asked);
    }
    let stage = stage::build(&lit)?;
    let mut set = Set::read(lit, stage, options, progress)?;
    let terms = set.terms()?;
    let solution = solve::solve(&terms, &set.dials());
    for (name, power) in set.names.iter().zip(&solution.set) {
        if let Some(light) = set.plan.lights.iter_mut().find(|light| light.name == *name) {
            let moved = options.moved.contains(name);
            if !moved {
                light.power = Power { stops: tidy(*power) };
            }
        }
    }
    let moves = distance::solve(&mut set, &terms, progress)?;
    let balanced = report::report(plan, &set, &terms, &solution, &moves);
    Ok((set.plan, balanced))
}

/// Rid of the last digits of a sum of steps, so that a plan says −2.3 and not −2.3000000000000003.
fn tidy(stops: f64) -> f64 {
    let thirds = stops * 3.0;
    if (thirds - thirds.round()).abs() < 1e-6 {
        thirds.round() / 3.0
    } else {
        (stops * 1e4).round() / 1e4
    }
}

impl<'a> Set<'a> {
    fn read(
        plan: Plan,
        stage: Stage,
        options: &'a BalanceOptions,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<Self, ShootError> {
        let mut tracer = lit_tracer(&plan, &stage);
        let names: Vec<String> = tracer.scene.lights.iter().map(|l| l.name.clone()).collect();
        let mut places = vec![options.at.clone()];
        for at in options.wishes.iter().filter_map(|wish| wish.at.as_ref()) {
            if !places.contains(at) {
                places.push(at.clone());
            }
        }
        let mut readings = Vec::new();
        for (number, at) in places.iter().enumerate() {
            let done = 0.2 + 0.8 * number as f64 / places.len() as f64;
            progress(Progress { done, step: "reading" });
            readings.push(read_place(&plan, &stage, &mut tracer, at, options)?);
        }
        let wished_aperture = options.wishes.iter().find_map(|wish| match &wish.subject {
            Subject::Light(name) if matches!(wish.base, Base::Aperture(_)) => Some(name.as_str()),
            _ => None,
        });
        let index = |name: &str| names.iter().position(|known| known == name);
        let strongest = || {
            let powered = |i: usize| {
                let power = plan.lights.iter().find(|l| l.name == names[i])?.power.stops;
                Some(readings[0].alone[i].lux_s() * power.exp2())
            };
            (0..names.len())
                .filter_map(|i| Some((i, powered(i)?)))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(i, _)| i)
        };
        let key = options
            .key
            .as_deref()
            .or_else(|| index("key").map(|_| "key"))
            .or(wished_aperture)
            .and_then(index)
            .or_else(strongest)
            .ok_or(ShootError::Dark)?;
        Ok(Self { plan, stage, options, names, places, readings, key })
    }

    fn place(&self, wish: &Wish) -> usize {
        let at = wish.at.as_ref().unwrap_or(&self.options.at);
        self.places.iter().position(|known| known == at).unwrap_or(0)
    }

    /// Whether a light of the tracer is one of the plan's, with a power.
    fn planned(&self, index: usize) -> Option<&crate::plan::Light> {
        self.plan.lights.iter().find(|light| light.name == self.names[index])
    }

    /// Power of each light as the plan now has it; 0 for the room's.
    fn powers(&self) -> Vec<f64> {
        (0..self.names.len()).map(|i| self.planned(i).map_or(0.0, |l| l.power.stops)).collect()
    }

    fn dials(&self) -> Vec<Dial> {
        let total = self.options.wishes.iter().any(|wish| wish.subject == Subject::Total);
        (0..self.names.len())
            .map(|index| {
                let Some(light) = self.planned(index) else {
                    return Dial { now: 0.0, free: false, lowest: 0.0, step: 0.0 };
                };
                let asked = |wish: &Wish| wish.subject == Subject::Light(light.name.clone());
                let wished = self.options.wishes.iter().any(asked);
                Dial {
                    now: light.power.stops,
                    // a wish on the sum may be met by any light
                    free: (wished || total) && !self.options.moved.contains(&light.name),
                    lowest: light.head.lowest.stops,
                    step: self.options.step_stops.unwrap_or_else(|| light.head.step.stops()),
                }
            })
            .collect()
    }

    /// One light alone at a place.
    fn alone(&self, place: usize, light: usize) -> Meter {
        let mut full_lux_s = vec![0.0; self.names.len()];
        full_lux_s[light] = self.readings[place].alone[light].lux_s();
        Meter { full_lux_s, steady_lux_s: 0.0 }
    }

    /// All together at a place.
    fn together(&self, place: usize) -> Meter {
        let mut meter = Meter { full_lux_s: vec![0.0; self.names.len()], steady_lux_s: 0.0 };
        for (index, one) in self.readings[place].together.iter().enumerate() {
            match self.planned(index) {
                Some(_) => meter.full_lux_s[index] = one.lux_s(),
                None => meter.steady_lux_s += one.lux_s(),
            }
        }
        meter
    }

    /// log2 of the lx·s that make a meter show this f-number.
    fn stops_of(&self, f_number: f64) -> f64 {
        let setting = exposure::Exposure { f_number, ..gains::exposure(&self.plan) };
        setting.metered_lux_s(self.plan.meter_constant).log2()
    }

    fn terms(&self) -> Result<Vec<Term>, ShootError> {
        let key_wish = self.options.wishes.iter().find(|wish| {
            wish.subject == Subject::Light(self.names[self.key].clone())
                && matches!(wish.base, Base::Aperture(_) | Base::Camera)
        });
        let fixed = |base: Base, stops: f64| match base {
            Base::Aperture(f_number) => Some(self.stops_of(f_number) + stops),
            Base::Camera => Some(self.stops_of(self.plan.camera.aperture.f_number) + stops),
            Base::Key | Base::Total => None,
        };
        let term = |wish: &Wish| {
            let place = self.place(wish);
            let meter = match &wish.subject {
                Subject::Total => self.together(place),
                Subject::Light(name) => {
                    let index = self.names.iter().position(|known| known == name);
                    self.alone(place, index.ok_or_else(|| self.unknown(name))?)
                }
            };
            if meter.full_lux_s.iter().sum::<f64>() <= 0.0 {
                return Err(ShootError::Unlit {
                    light: match &wish.subject {
                        Subject::Light(name) => name.clone(),
                        Subject::Total => "any light".into(),
                    },
                    place: self.place_name(place),
                });
            }
            let goal = match (fixed(wish.base, wish.stops), wish.base) {
                (Some(stops), _) => Goal::Fixed(stops),
                (None, Base::Total) => Goal::Above(self.together(0), wish.stops),
                // a key that is wished itself is counted from its wish, not from what it reaches
                (None, _) => match key_wish.and_then(|key| fixed(key.base, key.stops)) {
                    Some(key) => Goal::Fixed(key + wish.stops),
                    None => Goal::Above(self.alone(0, self.key), wish.stops),
                },
            };
            Ok(Term { meter, goal })
        };
        self.options.wishes.iter().map(term).collect()
    }

    fn unknown(&self, name: &str) -> ShootError {
        ShootError::NoMark { name: name.into(), known: self.names.clone() }
    }

    fn place_name(&self, place: usize) -> String {
        match &self.places[place] {
            MeterPoint::Mark(name) => name.clone(),
            MeterPoint::Point([x, y, z]) => format!("({x:.2}, {y:.2}, {z:.2}) m"),
        }
    }
}

/// Reads a place with every light at full power.
fn read_place(
    plan: &Plan,
    stage: &Stage,
    tracer: &mut Tracer,
    at: &MeterPoint,
    options: &BalanceOptions,
) -> Result<Reading, ShootError> {
    let mut full = plan.clone();
    for light in &mut full.lights {
        light.power = Power { stops: 0.0 };
    }
    let shutter_s = plan.camera.shutter.seconds;
    // paths go where today's powers put the light; what is kept is at full power
    let (today, full) = (levels(plan, stage, tracer)?, levels(&full, stage, tracer)?);
    let gains: Vec<f64> = tracer
        .scene
        .lights
        .iter()
        .zip(full)
        .map(|(light, level)| match light.kind {
            LightKind::Continuous => level * shutter_s,
            LightKind::Flash => level,
        })
        .collect();
    let mut looked = |dome: DomeAim| {
        let meter = MeterOptions {
            at: at.clone(),
            dome,
            flat: false,
            spot_degrees: None,
            seed: options.seed,
        };
        look(plan, stage, tracer, &today, &meter).map(|found| full_power(&found, &gains))
    };
    let wants_total = |wish: &Wish| wish.subject == Subject::Total || wish.base == Base::Total;
    let alone = looked(options.dome.clone())?;
    let together = if options.dome == DomeAim::Camera {
        alone.clone()
    } else if *at == options.at || options.wishes.iter().any(wants_total) {
        looked(DomeAim::Camera)?
    } else {
        vec![OneLight::default(); alone.len()]
    };
    Ok(Reading { alone, together })
}

fn full_power(found: &Found, gains: &[f64]) -> Vec<OneLight> {
    let one = |(look, gain): (&super::read_meter::Look, &f64)| {
        let direct = luminance_f64(look.incident.direct);
        let bounced = luminance_f64(look.incident.bounced);
        OneLight {
            direct_lux_s: direct * gain,
            bounced_lux_s: bounced * gain,
            error: look.incident.standard_error / (direct + bounced).max(f64::MIN_POSITIVE),
            position: look.position,
        }
    };
    found.lights.iter().zip(gains).map(one).collect()
}
