//! One numeric field of a plan by name, and plans that differ in it.
//!
//! In: a [`Plan`], a field as a photographer names it (`azimuth` of the light `rim`, `camera.iso`,
//! `room.walls.reflectance`), values. Out: changed plans, checked like a file. Choices are passed
//! through by themselves: `place.azimuth` needs no `Around`, and `azimuth` of a light needs no `place`.

use serde_json::{Map, Value};

use super::error::Fault;
use super::units::{Aperture, Length, Power, Shutter};
use super::{Plan, check};

/// Where fields of a light or the camera are looked for, in this order.
const WITHIN: [&str; 8] = ["", "place", "modifier", "gel", "head", "output", "format", "shape"];

/// A field of one plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// From the plan's root; things in lists by name.
    path: Vec<String>,
}

/// What a field's numbers are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Power,
    Aperture,
    Shutter,
    Iso,
    Length,
    Degrees,
    Kelvin,
    Plain,
}

/// Why a field or a value is refused: what is wrong, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{problem}\n   hint: {remedy}")]
pub struct VaryError {
    /// One sentence with the value.
    pub problem: String,
    /// What to do.
    pub remedy: String,
}

fn wrong(problem: impl Into<String>, remedy: impl Into<String>) -> VaryError {
    VaryError { problem: problem.into(), remedy: remedy.into() }
}

impl Field {
    /// Finds a field; `light` says whose it is where the name alone does not.
    pub fn find(plan: &Plan, light: Option<&str>, typed: &str) -> Result<Self, VaryError> {
        let words: Vec<&str> = typed.split('.').map(str::trim).collect();
        let root = json(plan)?;
        let is_light = |name: &str| plan.lights.iter().any(|light| light.name == name);
        let (owner, rest): (Vec<&str>, &[&str]) = match (light, words.as_slice()) {
            (_, [name, rest @ ..]) if is_light(name) && !rest.is_empty() => {
                (vec!["lights", *name], rest)
            }
            (_, ["camera", rest @ ..]) if !rest.is_empty() => (vec!["camera"], rest),
            (_, [list @ ("cloths" | "boxes" | "boards"), name, rest @ ..]) if !rest.is_empty() => {
                (vec![*list, *name], rest)
            }
            (Some(name), rest) if rest.len() == 1 || root.get(rest[0]).is_none() => {
                (vec!["lights", name], rest)
            }
            (_, rest) => (Vec::new(), rest),
        };
        let within: &[&str] = if owner.is_empty() { &[""] } else { &WITHIN };
        let paths = within.iter().map(|inner| {
            let inner = (!inner.is_empty()).then_some(*inner);
            let path = owner.iter().copied().chain(inner).chain(rest.iter().copied());
            path.map(str::to_owned).collect::<Vec<String>>()
        });
        let paths: Vec<Vec<String>> = paths.collect();
        // a number that is written in the plan, else one that is left at its default
        let written = paths.iter().find(|path| get(&root, path).is_some_and(is_number));
        let found = written.or_else(|| {
            paths.iter().find(|path| {
                let field = Self { path: (*path).clone() };
                [0.5, 1.0, 5.0].iter().any(|value| field.parsed(&root, *value).is_ok())
            })
        });
        found.map(|path| Self { path: path.clone() }).ok_or_else(|| {
            let whose = light.map_or(String::new(), |name| format!(" of the light \"{name}\""));
            wrong(
                format!("\"{typed}\"{whose} is no number of this plan"),
                "name a field with a number: azimuth, elevation, distance or power of a light \
                 (with --light), camera.focal_mm, sitter.turn, room.walls.reflectance, boxes.crate.turn",
            )
        })
    }

    /// The field's own name, such as `azimuth`.
    pub fn name(&self) -> &str {
        self.path.last().map_or("", String::as_str)
    }

    /// Whose it is and what, for captions: `rim azimuth`, `camera focal`.
    pub fn label(&self) -> String {
        let words: Vec<&str> = self.path.iter().map(String::as_str).collect();
        let words: &[&str] = match words.as_slice() {
            ["lights" | "boxes" | "cloths" | "boards", rest @ ..] => rest,
            all => all,
        };
        // a light's head goes without saying, a sitter's does not
        let of_light = self.path.first().is_some_and(|first| first == "lights");
        let inner = |word: &&&str| match **word {
            "place" | "modifier" | "shape" => false,
            "head" => !of_light,
            _ => true,
        };
        let words: Vec<&str> = words.iter().filter(inner).copied().collect();
        words.join(" ").replace("_mm", "").replace("_ws", "").replace('_', " ")
    }

    fn kind(&self) -> Kind {
        match self.name() {
            "power" | "lowest" => Kind::Power,
            "aperture" => Kind::Aperture,
            "shutter" | "sync" => Kind::Shutter,
            "iso" => Kind::Iso,
            "distance" | "x" | "y" | "z" | "width" | "depth" | "top" | "behind" | "sweep"
            | "overhang" | "drop" | "diameter" | "length" | "base" | "from_left" | "from_back" => {
                Kind::Length
            }
            "height" => Kind::Length,
            "azimuth" | "elevation" | "turn" | "tilt" | "nod" | "roll" | "beam" | "field" => {
                Kind::Degrees
            }
            "kelvin" | "white_balance" => Kind::Kelvin,
            _ => Kind::Plain,
        }
    }

    /// A value as typed, in the field's own terms.
    pub fn read(&self, typed: &str) -> Result<f64, VaryError> {
        let typed = typed.trim();
        let text = Value::String(typed.to_owned());
        let units = match self.kind() {
            Kind::Power => serde_json::from_value::<Power>(text).map(|power| power.stops),
            Kind::Aperture => serde_json::from_value::<Aperture>(text).map(|a| a.f_number),
            Kind::Shutter => serde_json::from_value::<Shutter>(text).map(|s| s.seconds),
            Kind::Length => serde_json::from_value::<Length>(text).map(|l| l.metres),
            _ => return plain(typed),
        };
        plain(typed).or_else(|_| {
            units.map_err(|error| wrong(error.to_string(), "write numbers, such as 1..3"))
        })
    }

    /// `count` values from one to another: aperture, shutter and ISO in equal steps of stops, all
    /// else in equal steps.
    pub fn between(&self, from: f64, to: f64, count: usize) -> Vec<f64> {
        let stops = matches!(self.kind(), Kind::Aperture | Kind::Shutter | Kind::Iso);
        (0..count)
            .map(|step| {
                let share = step as f64 / count.saturating_sub(1).max(1) as f64;
                if stops && from > 0.0 && to > 0.0 {
                    from * (to / from).powf(share)
                } else {
                    from + (to - from) * share
                }
            })
            .collect()
    }

    /// A value in words: `−3 1/3` of power as a fraction and stops, degrees, metres.
    pub fn show(&self, value: f64) -> String {
        let short = |digits: usize| {
            let text = format!("{value:.digits$}");
            let text = if text.contains('.') {
                text.trim_end_matches('0').trim_end_matches('.').to_owned()
            } else {
                text
            };
            text.replace('-', "−")
        };
        match self.kind() {
            Kind::Power => Power { stops: value }.display(),
            Kind::Aperture => Aperture { f_number: value }.to_string(),
            Kind::Shutter => Shutter { seconds: value }.to_string(),
            Kind::Iso => format!("ISO {}", short(0)),
            Kind::Length => format!("{} m", short(2)),
            Kind::Degrees => format!("{}°", short(1)),
            Kind::Kelvin => format!("{} K", short(0)),
            Kind::Plain if self.name().ends_with("_mm") => format!("{} mm", short(1)),
            Kind::Plain if self.name().ends_with("_ws") => format!("{} W·s", short(0)),
            Kind::Plain if self.name() == "ev" => format!("EV {}", short(1)),
            Kind::Plain => short(3),
        }
    }

    /// The plan with this value in the field.
    pub fn set(&self, plan: &Plan, value: f64) -> Result<Plan, VaryError> {
        let mut changed = self.parsed(&json(plan)?, value).map_err(|error| {
            wrong(
                format!("{} cannot be {}: {error}", self.label(), self.show(value)),
                "stay within what the field can be",
            )
        })?;
        changed.note.clone_from(&plan.note);
        match check::check(&changed).into_iter().next() {
            Some(Fault { path, problem, remedy, .. }) => {
                Err(wrong(format!("{path} at {}: {problem}", self.show(value)), remedy))
            }
            None => Ok(changed),
        }
    }

    fn parsed(&self, root: &Value, value: f64) -> Result<Plan, String> {
        // whole numbers also where the field counts
        let whole = value.fract() == 0.0 && value.abs() < 1e15;
        let number = if whole { Value::from(value as i64) } else { Value::from(value) };
        let mut root = root.clone();
        put(&mut root, &self.path, number)?;
        serde_json::from_value(root).map_err(|error| error.to_string())
    }
}

fn plain(typed: &str) -> Result<f64, VaryError> {
    let number = typed.replace('−', "-").parse::<f64>().ok().filter(|number| number.is_finite());
    number.ok_or_else(|| {
        let short: String = typed.chars().take(40).collect();
        wrong(
            format!("\"{}\" is no number", short.escape_debug()),
            "write a range such as 100..170, or values such as 1,2,4",
        )
    })
}

fn json(plan: &Plan) -> Result<Value, VaryError> {
    serde_json::to_value(plan)
        .map_err(|error| wrong(format!("the plan cannot be varied: {error}"), "check its numbers"))
}

/// A number, or one with a unit in a text.
fn is_number(value: &Value) -> bool {
    value.is_number()
        || value.as_str().is_some_and(|text| text.contains(|c: char| c.is_ascii_digit()))
}

/// Passes through the name of a choice (`Around`) to what it holds, unless the word is there.
fn opened<'a>(value: &'a Value, word: &str) -> &'a Value {
    match value.as_object() {
        Some(object) if object.len() == 1 && !object.contains_key(word) => {
            match object.iter().next() {
                Some((name, inner)) if is_choice(name) && inner.is_object() => inner,
                _ => value,
            }
        }
        _ => value,
    }
}

fn is_choice(name: &str) -> bool {
    name.starts_with(|first: char| first.is_ascii_uppercase())
}

fn get<'a>(root: &'a Value, path: &[String]) -> Option<&'a Value> {
    path.iter().try_fold(root, |value, word| match value {
        Value::Array(things) => {
            things.iter().find(|thing| thing.get("name").and_then(Value::as_str) == Some(word))
        }
        _ => opened(value, word).get(word),
    })
}

fn put(value: &mut Value, path: &[String], number: Value) -> Result<(), String> {
    let Some((word, rest)) = path.split_first() else {
        *value = number;
        return Ok(());
    };
    if let Value::Array(things) = value {
        let named = |thing: &&mut Value| thing.get("name").and_then(Value::as_str) == Some(word);
        let thing = things.iter_mut().find(named).ok_or(format!("there is no \"{word}\""))?;
        return put(thing, rest, number);
    }
    let object = value.as_object_mut().ok_or(format!("there is no `{word}` here"))?;
    let choice = (object.len() == 1 && !object.contains_key(word))
        .then(|| object.keys().next().filter(|name| is_choice(name)).cloned())
        .flatten();
    if let Some(inner) = choice.and_then(|name| object.get_mut(&name)).filter(|v| v.is_object()) {
        return put(inner, path, number);
    }
    let inner = object.entry(word.clone()).or_insert_with(|| Value::Object(Map::new()));
    put(inner, rest, number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Place, shipped};

    fn plan() -> Plan {
        let shipped = shipped::find("quarryman").unwrap();
        crate::plan::parse(shipped.text, shipped.name).unwrap()
    }

    #[test]
    fn fields_are_found_by_the_names_photographers_use() {
        let plan = plan();
        for (light, typed, label) in [
            (Some("key"), "azimuth", "key azimuth"),
            (Some("key"), "power", "key power"),
            (Some("key"), "beam", "key beam"),
            (Some("fill"), "energy_ws", "fill energy"),
            (None, "fill.height", "fill height"),
            (None, "camera.focal_mm", "camera focal"),
            (None, "camera.azimuth", "camera azimuth"),
            (Some("key"), "camera.iso", "camera iso"),
            (None, "sitter.turn", "sitter turn"),
            (None, "sitter.head.nod", "sitter head nod"),
            (None, "room.walls.reflectance", "room walls reflectance"),
            (None, "boxes.crate.turn", "crate turn"),
            (None, "cloths.back cloth.top", "back cloth top"),
            (None, "boards.window.roll", "window roll"),
        ] {
            let field = Field::find(&plan, light, typed).unwrap_or_else(|e| panic!("{typed}: {e}"));
            assert_eq!(field.label(), label, "{typed}");
        }
        for (light, typed) in [
            (Some("key"), "azimut"),
            (None, "azimuth"),
            (None, "title"),
            (None, ""),
            (None, "camera.x.y"),
        ] {
            assert!(Field::find(&plan, light, typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_set_value_is_the_only_change() {
        let plan = plan();
        let field = Field::find(&plan, Some("key"), "azimuth").unwrap();
        let changed = field.set(&plan, 120.5).unwrap();
        let mut back = changed.clone();
        match (&mut back.lights[0].place, &plan.lights[0].place) {
            (Place::Around { azimuth, .. }, Place::Around { azimuth: before, .. }) => {
                assert_eq!(*azimuth, 120.5);
                *azimuth = *before;
            }
            _ => panic!("the key stands around the sitter"),
        }
        assert_eq!(back, plan);
        let field = Field::find(&plan, None, "sitter.skin").unwrap();
        assert_eq!(field.set(&plan, 3.0).unwrap().sitter.unwrap().skin, 3);
        assert!(field.set(&plan, 3.5).is_err());
        assert!(field.set(&plan, 44.0).is_err());
        let field = Field::find(&plan, None, "room.walls.reflectance").unwrap();
        assert!(field.set(&plan, 1.5).unwrap_err().to_string().contains("reflectance"));
    }

    #[test]
    fn values_are_read_stepped_and_shown_in_their_terms() {
        let plan = plan();
        let power = Field::find(&plan, Some("key"), "power").unwrap();
        assert_eq!(power.read("1/8").unwrap(), -3.0);
        assert_eq!(power.show(-3.0), "1/8 (−3)");
        let aperture = Field::find(&plan, None, "camera.aperture").unwrap();
        let steps = aperture.between(aperture.read("f/4").unwrap(), 16.0, 5);
        assert!((steps[2] - 8.0).abs() < 1e-9 && (steps[1] - 5.657).abs() < 1e-3, "{steps:?}");
        let distance = Field::find(&plan, Some("key"), "distance").unwrap();
        assert!((distance.read("5 ft").unwrap() - 1.524).abs() < 1e-9);
        assert_eq!(distance.show(2.5), "2.5 m");
        assert!(distance.read("far").is_err());
        assert!(distance.read("nan").is_err());
    }
}
