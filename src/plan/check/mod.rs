//! Values that can be judged without geometry: ranges, names, references, plain places.
//!
//! In: a parsed plan. Out: every violation with its field, its value, and what would be right.
//! What needs the built set (a head inside the sitter, a stand in a wall) is judged by `stage`.

mod ambient;
mod boards;
mod camera;
mod lights;
mod modifier;
mod paint;
mod place;
mod set;

use std::fmt::Display;

use super::error::Fault;
use super::units::Length;
use super::{Plan, suggest};

/// Most things of a kind that a plan may hold.
const MOST: usize = 64;

/// What is wrong with a plan under work: all of it, but that nothing is lit yet.
pub fn draft(plan: &Plan) -> Vec<Fault> {
    let mut faults = check(plan);
    faults.retain(|fault| fault.path != "lights");
    faults
}

/// Every violation in the plan, in the order of the file.
pub fn check(plan: &Plan) -> Vec<Fault> {
    let mut faults = Faults::default();
    let root = At::default();
    faults.most(&root.field("boxes"), plan.boxes.len(), "boxes");
    faults.most(&root.field("cloths"), plan.cloths.len(), "cloths");
    faults.most(&root.field("lights"), plan.lights.len(), "lights");
    faults.most(&root.field("boards"), plan.boards.len(), "boards");
    faults.most(&root.field("lamps"), plan.lamps.len(), "lamps");
    faults.most(&root.field("windows"), plan.windows.len(), "windows");
    if !faults.list.is_empty() {
        // a list out of hand is the fault; to judge each of its things would bury it
        return faults.list;
    }
    faults.text(&root.field("title"), &plan.title, 200);
    faults.text(&root.field("note"), &plan.note, 4000);
    let bounds = set::room(&mut faults, &root.field("room"), &plan.room);
    set::boxes(&mut faults, &root, plan, &bounds);
    set::cloths(&mut faults, &root, plan, &bounds);
    if let Some(sitter) = &plan.sitter {
        set::sitter(&mut faults, &root.field("sitter"), sitter, plan, &bounds);
    }
    lights::lights(&mut faults, &root, plan, &bounds);
    boards::boards(&mut faults, &root, plan, &bounds);
    ambient::ambient(&mut faults, &root, plan, &bounds);
    camera::camera(&mut faults, &root.field("camera"), plan, &bounds);
    camera::development(&mut faults, &root.field("development"), &plan.development);
    set::names(&mut faults, &root, plan);
    let constant = root.field("meter_constant");
    faults.range(&constant, plan.meter_constant, 150.0, 600.0, "lx·s (250 is usual)");
    faults.list
}

/// Where in the plan a value stands.
#[derive(Debug, Clone, Default)]
struct At {
    path: String,
    label: String,
}

impl At {
    fn field(&self, name: &str) -> Self {
        let join = |left: &str| {
            if left.is_empty() { name.to_owned() } else { format!("{left}.{name}") }
        };
        Self { path: join(&self.path), label: join(&self.label) }
    }

    /// The `number`th thing of a list, called `name`.
    fn item(&self, number: usize, name: &str) -> Self {
        let short: String = name.chars().take(24).collect();
        Self {
            path: format!("{}[{number}]", self.path),
            label: format!("{}[{number}] \"{}\"", self.label, short.escape_debug()),
        }
    }
}

/// The violations found so far.
#[derive(Debug, Default)]
struct Faults {
    list: Vec<Fault>,
}

impl Faults {
    fn add(&mut self, at: &At, problem: impl Into<String>, remedy: impl Into<String>) {
        self.list.push(Fault {
            path: at.path.clone(),
            label: at.label.clone(),
            problem: problem.into(),
            remedy: remedy.into(),
        });
    }

    /// `unit` may go on after the unit's name, for the hint.
    fn range(&mut self, at: &At, value: f64, lowest: f64, highest: f64, unit: &str) {
        if !(lowest..=highest).contains(&value) {
            self.add(
                at,
                format!("{value} is out of range"),
                format!("write from {lowest} to {highest} {unit}").trim_end().to_owned(),
            );
        }
    }

    fn share(&mut self, at: &At, value: f64) {
        self.range(at, value, 0.0, 1.0, "(a share of the whole)");
    }

    fn degrees(&mut self, at: &At, value: f64, limit: f64) {
        self.range(at, value, -limit, limit, "degrees");
    }

    fn kelvin(&mut self, at: &At, value: f64) {
        self.range(at, value, 1000.0, 40_000.0, "kelvin");
    }

    fn count(&mut self, at: &At, value: u32, lowest: u32, highest: u32) {
        self.range(at, value.into(), lowest.into(), highest.into(), "");
    }

    /// Bounds in metres.
    fn length(&mut self, at: &At, value: Length, lowest: f64, highest: f64) {
        let (shortest, longest) = (Length::metres(lowest), Length::metres(highest));
        if !(lowest..=highest).contains(&value.metres) {
            let problem = if value.metres < 0.0 && lowest >= 0.0 {
                format!("{value} is negative")
            } else {
                format!("{value} is out of range")
            };
            self.add(at, problem, format!("write from {shortest} to {longest}"));
        }
    }

    /// A file's name, from the plan's own folder.
    fn file(&mut self, at: &At, name: &str, what: &str) {
        if name.trim().is_empty() || name.contains('\0') {
            self.add(at, "no file is named", format!("name {what} in the plan's folder"));
        } else {
            self.text(at, name, 400);
        }
    }

    fn most(&mut self, at: &At, count: usize, what: &str) {
        if count > MOST {
            self.add(at, format!("{count} {what} are too many"), format!("keep at most {MOST}"));
        }
    }

    fn text(&mut self, at: &At, text: &str, longest: usize) {
        let letters = text.chars().count();
        if letters > longest {
            self.add(
                at,
                format!("{letters} letters are too many"),
                format!("keep at most {longest}"),
            );
        }
    }

    /// A name must be one that the command line can spell.
    fn name(&mut self, at: &At, name: &str) {
        let at = &at.field("name");
        let shown: String = name.chars().take(40).collect();
        if name.trim().is_empty() {
            self.add(at, format!("\"{shown}\" is no name"), "give it a short name such as \"key\"");
        } else if name.chars().count() > 40 {
            self.add(at, format!("\"{shown}…\" is too long for a name"), "use up to 40 letters");
        } else if name.trim() != name
            || !name.chars().all(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'))
        {
            self.add(
                at,
                format!("\"{}\" is no plain name", shown.escape_debug()),
                "use letters, digits, `-`, `_` and blanks between them",
            );
        }
    }

    /// A name that must be one of `known`.
    fn reference<'a>(
        &mut self,
        at: &At,
        name: &str,
        what: &str,
        known: impl Iterator<Item = &'a str> + Clone,
    ) {
        if known.clone().any(|k| k == name) {
            return;
        }
        let all: Vec<_> = known.clone().take(12).collect();
        let remedy = match (suggest::nearest(name, known), all.is_empty()) {
            (Some(near), _) => format!("did you mean \"{near}\"?"),
            (None, true) => format!("the plan has no {what}; add one or leave this out"),
            (None, false) => format!("name one of {}", quoted(&all)),
        };
        let shown: String = name.chars().take(40).collect();
        self.add(at, format!("there is no {what} \"{}\"", shown.escape_debug()), remedy);
    }
}

fn quoted<T: Display>(names: &[T]) -> String {
    names.iter().map(|n| format!("\"{n}\"")).collect::<Vec<_>>().join(", ")
}
