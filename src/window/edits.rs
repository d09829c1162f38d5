//! What the window's hands do to a plan: put things up, move, mirror, copy and take them away.
//! Pure: a plan in, the plan changed.

use glam::Vec3;

use super::orbit::{around, wrapped};
use crate::plan::units::LengthUnit;
use crate::plan::{
    Ambient, Aperture, Board, BoardKind, Cloth, ClothShape, Fabric, Finish, Length, Light,
    Modifier, Paint, Place, Plan, Power, SetBox, Shutter, Sitter, Target,
};

/// A thing of the plan.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pick {
    /// A light by name.
    Light(String),
    /// A board.
    Board(String),
    /// A cloth.
    Cloth(String),
    /// A box.
    Box(String),
    /// The person.
    Sitter,
    /// The camera.
    Camera,
    /// The room and its own light.
    Room,
    /// How the picture is developed.
    Development,
}

impl Pick {
    /// As it is called.
    pub fn label(&self) -> String {
        match self {
            Self::Light(name) | Self::Board(name) | Self::Cloth(name) | Self::Box(name) => {
                name.clone()
            }
            Self::Sitter => "sitter".into(),
            Self::Camera => "camera".into(),
            Self::Room => "room".into(),
            Self::Development => "development".into(),
        }
    }

    /// Whether the plan has it.
    pub fn is_in(&self, plan: &Plan) -> bool {
        match self {
            Self::Light(name) => plan.lights.iter().any(|one| one.name == *name),
            Self::Board(name) => plan.boards.iter().any(|one| one.name == *name),
            Self::Cloth(name) => plan.cloths.iter().any(|one| one.name == *name),
            Self::Box(name) => plan.boxes.iter().any(|one| one.name == *name),
            Self::Sitter => plan.sitter.is_some(),
            Self::Camera | Self::Room | Self::Development => true,
        }
    }
}

/// What can be put up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Put {
    /// A key: a beauty dish, high and to a side.
    Key,
    /// A fill: a large box near the camera, two stops down.
    Fill,
    /// A rim: a gridded dish from behind.
    Rim,
    /// A head on the backdrop.
    Background,
    /// A standing sitter.
    Sitter,
    /// A paper-grey backdrop with a sweep.
    Backdrop,
    /// A black flag.
    Flag,
    /// A white board.
    White,
    /// A crate.
    Crate,
    /// The room's own even light.
    RoomLight,
}

impl Put {
    /// All, in the order of the menu.
    pub const ALL: [(Self, &'static str); 10] = [
        (Self::Key, "Key light"),
        (Self::Fill, "Fill light"),
        (Self::Rim, "Rim light"),
        (Self::Background, "Background light"),
        (Self::Sitter, "Sitter"),
        (Self::Backdrop, "Backdrop"),
        (Self::Flag, "Flag"),
        (Self::White, "White board"),
        (Self::Crate, "Crate"),
        (Self::RoomLight, "Room light"),
    ];
}

fn around_face(azimuth: f64, elevation: f64, metres: f64) -> Place {
    let distance = Length::metres(metres);
    Place::Around { azimuth, elevation, distance, of: Target::Face }
}

/// A modifier by its kind, with the usual sizes.
pub fn modifier(kind: &str) -> Option<Modifier> {
    // the plan's own defaults: an empty choice reads as the usual one
    serde_json::from_value(serde_json::json!({ kind: {} })).ok()
}

/// Kinds of modifier that need no further word.
pub const MODIFIERS: [&str; 14] = [
    "Dish",
    "ShortDish",
    "LongThrow",
    "BeautyDish",
    "SoftBox",
    "Octagon",
    "BounceUmbrella",
    "ShootThrough",
    "Scrim",
    "Snoot",
    "LensSpot",
    "Ring",
    "Lantern",
    "BareTube",
];

/// The kind of a modifier, as in [`MODIFIERS`].
pub fn kind_of(modifier: &Modifier) -> String {
    match serde_json::to_value(modifier) {
        Ok(serde_json::Value::Object(object)) => object.keys().next().cloned().unwrap_or_default(),
        Ok(serde_json::Value::String(name)) => name,
        _ => String::new(),
    }
}

/// Puts something up; what it is called now.
pub fn put(plan: &mut Plan, what: Put) -> Pick {
    let light = |plan: &mut Plan, name: &str, stops: f64, kind: &str, place: Place, aim: Target| {
        let name = free_name(plan, name);
        plan.lights.push(Light {
            name: name.clone(),
            on: true,
            power: Power { stops },
            head: Default::default(),
            modifier: modifier(kind).unwrap_or_default(),
            grid: None,
            doors: None,
            cloth: None,
            gel: None,
            place,
            aim,
            fixture: true,
        });
        Pick::Light(name)
    };
    match what {
        Put::Key => {
            light(plan, "key", -3.0, "BeautyDish", around_face(-40.0, 35.0, 1.8), Target::Face)
        }
        Put::Fill => {
            light(plan, "fill", -4.0, "Octagon", around_face(30.0, 12.0, 2.4), Target::Face)
        }
        Put::Rim => {
            let made =
                light(plan, "rim", -4.0, "Dish", around_face(145.0, 30.0, 1.7), Target::Crown);
            if let Some(rim) = plan.lights.last_mut() {
                rim.grid = Some(30.0);
            }
            made
        }
        Put::Background => {
            let place = Place::Stand {
                azimuth: 140.0,
                distance: Length::metres(1.4),
                height: Length::metres(0.9),
            };
            let aim = match plan.cloths.first() {
                Some(cloth) => Target::Named(cloth.name.clone()),
                None => Target::Toward { azimuth: 180.0, tilt: 10.0 },
            };
            light(plan, "background", -4.0, "Dish", place, aim)
        }
        Put::Sitter => {
            plan.sitter.get_or_insert_with(Sitter::default);
            Pick::Sitter
        }
        Put::Backdrop => {
            let name = free_name(plan, "backdrop");
            plan.cloths.push(Cloth {
                name: name.clone(),
                fabric: Fabric { paint: Paint::grey(0.4), finish: Finish::default() },
                shape: ClothShape::Backdrop {
                    width: Length::metres(2.7),
                    top: Length::metres(2.6),
                    behind: Length::metres(1.3),
                    x: Length::default(),
                    turn: 0.0,
                    sweep: Length::metres(1.5),
                },
                creases: 0.2,
                folds: 0.2,
                seed: 1,
            });
            Pick::Cloth(name)
        }
        Put::Flag | Put::White => {
            let flag = what == Put::Flag;
            let name = free_name(plan, if flag { "flag" } else { "white board" });
            let azimuth = if flag { -70.0 } else { 70.0 };
            plan.boards.push(Board {
                name: name.clone(),
                kind: if flag { BoardKind::Flag } else { BoardKind::White },
                width: Length::metres(if flag { 0.6 } else { 0.9 }),
                height: Length::metres(if flag { 0.9 } else { 1.2 }),
                round: false,
                fold: None,
                back: None,
                place: around_face(azimuth, 0.0, 0.9),
                aim: Target::Face,
                roll: 0.0,
            });
            Pick::Board(name)
        }
        Put::Crate => {
            let name = free_name(plan, "crate");
            let side = Length::metres(0.45);
            plan.boxes.push(SetBox {
                name: name.clone(),
                width: side,
                height: side,
                depth: side,
                x: Length::metres(0.8),
                z: Length::metres(-0.3),
                base: Length::default(),
                turn: 0.0,
                paint: Paint { reflectance: Some(0.3), color: "#a98a66".into() },
            });
            Pick::Box(name)
        }
        Put::RoomLight => {
            plan.ambient.get_or_insert(Ambient { ev: 5.0, kelvin: 3000.0 });
            Pick::Room
        }
    }
}

/// A name that nothing has yet: `key`, `key 2`, …
pub fn free_name(plan: &Plan, wanted: &str) -> String {
    let taken = |name: &str| {
        let lights = plan.lights.iter().map(|one| &one.name);
        let boards = plan.boards.iter().map(|one| &one.name);
        let cloths = plan.cloths.iter().map(|one| &one.name);
        let boxes = plan.boxes.iter().map(|one| &one.name);
        let lamps = plan.lamps.iter().map(|one| &one.name);
        let windows = plan.windows.iter().map(|one| &one.name);
        lights
            .chain(boards)
            .chain(cloths)
            .chain(boxes)
            .chain(lamps)
            .chain(windows)
            .any(|n| n == name)
    };
    let base = wanted.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end();
    let base = if base.is_empty() { wanted } else { base };
    if !taken(wanted) {
        return wanted.to_owned();
    }
    // some number is free: there are finitely many names
    (2..).map(|n| format!("{base} {n}")).find(|name| !taken(name)).unwrap_or_default()
}

/// The place of a thing that has one.
pub fn place_of<'a>(plan: &'a Plan, pick: &Pick) -> Option<&'a Place> {
    match pick {
        Pick::Light(name) => plan.lights.iter().find(|one| one.name == *name).map(|one| &one.place),
        Pick::Board(name) => plan.boards.iter().find(|one| one.name == *name).map(|one| &one.place),
        Pick::Camera => Some(&plan.camera.place),
        _ => None,
    }
}

/// The same to change it.
pub fn place_mut<'a>(plan: &'a mut Plan, pick: &Pick) -> Option<&'a mut Place> {
    match pick {
        Pick::Light(name) => {
            plan.lights.iter_mut().find(|one| one.name == *name).map(|one| &mut one.place)
        }
        Pick::Board(name) => {
            plan.boards.iter_mut().find(|one| one.name == *name).map(|one| &mut one.place)
        }
        Pick::Camera => Some(&mut plan.camera.place),
        _ => None,
    }
}

/// What it is aimed at.
pub fn aim_of<'a>(plan: &'a Plan, pick: &Pick) -> Option<&'a Target> {
    match pick {
        Pick::Light(name) => plan.lights.iter().find(|one| one.name == *name).map(|one| &one.aim),
        Pick::Board(name) => plan.boards.iter().find(|one| one.name == *name).map(|one| &one.aim),
        Pick::Camera => Some(&plan.camera.aim),
        _ => None,
    }
}

/// The same to change it.
pub fn aim_mut<'a>(plan: &'a mut Plan, pick: &Pick) -> Option<&'a mut Target> {
    match pick {
        Pick::Light(name) => {
            plan.lights.iter_mut().find(|one| one.name == *name).map(|one| &mut one.aim)
        }
        Pick::Board(name) => {
            plan.boards.iter_mut().find(|one| one.name == *name).map(|one| &mut one.aim)
        }
        Pick::Camera => Some(&mut plan.camera.aim),
        _ => None,
    }
}

/// A light by name, to change it.
pub fn light_mut<'a>(plan: &'a mut Plan, name: &str) -> Option<&'a mut Light> {
    plan.lights.iter_mut().find(|light| light.name == name)
}

/// How finely a dragged thing moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Snap {
    /// Degrees of azimuth and elevation; 0 for none.
    pub degrees: f64,
    /// Metres of distance; 0 for none.
    pub metres: f64,
}

impl Snap {
    /// As it comes: single degrees, five centimetres.
    pub const USUAL: Self = Self { degrees: 1.0, metres: 0.05 };
    /// With the wide-step key held.
    pub const WIDE: Self = Self { degrees: 5.0, metres: 0.25 };
    /// With the free key held.
    pub const FREE: Self = Self { degrees: 0.1, metres: 0.001 };
}

fn snapped(value: f64, step: f64) -> f64 {
    if step <= 0.0 {
        return value;
    }
    // 0.05·51 is 2.5500000000000003: written as what it is meant to be
    let near = (value / step).round() * step;
    (near * 1e6).round() / 1e6
}

/// A length in the unit of another.
pub fn like(other: &Length, metres: f64) -> Length {
    match other.unit {
        LengthUnit::Metric => Length::metres(metres),
        LengthUnit::Feet => Length::feet(metres / 0.3048),
    }
}

/// Moves a place to a world point, in its own terms; `centre` is what an `Around` goes round.
pub fn move_to(place: &mut Place, point: Vec3, centre: Vec3, snap: Snap) {
    match place {
        Place::Around { azimuth, elevation, distance, .. } => {
            let (a, e, d) = around(point, centre);
            *azimuth = snapped(f64::from(wrapped(a)), snap.degrees);
            *elevation = snapped(f64::from(e), snap.degrees);
            *distance = like(distance, snapped(f64::from(d), snap.metres).max(0.1));
        }
        Place::Stand { azimuth, distance, height } => {
            let (a, _, d) = around(Vec3::new(point.x, 0.0, point.z), Vec3::ZERO);
            *azimuth = snapped(f64::from(wrapped(a)), snap.degrees);
            *distance = like(distance, snapped(f64::from(d), snap.metres));
            *height = like(height, snapped(f64::from(point.y), snap.metres).max(0.0));
        }
        Place::At { x, y, z } => {
            *x = like(x, snapped(f64::from(point.x), snap.metres));
            *y = like(y, snapped(f64::from(point.y), snap.metres));
            *z = like(z, snapped(f64::from(point.z), snap.metres));
        }
    }
}

/// Turns a place round by degrees, up by degrees, and farther by metres, as far as its terms have
/// such.
pub fn nudge(place: &mut Place, round: f64, up: f64, farther: f64) {
    let turned = |azimuth: f64| f64::from(wrapped((azimuth + round) as f32));
    let turned = |azimuth: f64| snapped(turned(azimuth), 0.001);
    let more = |length: &Length, by: f64| like(length, snapped(length.metres + by, 0.001));
    match place {
        Place::Around { azimuth, elevation, distance, .. } => {
            *azimuth = turned(*azimuth);
            *elevation = (*elevation + up).clamp(-89.0, 89.0);
            *distance = more(distance, farther.max(0.1 - distance.metres));
        }
        Place::Stand { azimuth, distance, height } => {
            *azimuth = turned(*azimuth);
            *distance = more(distance, farther.max(-distance.metres));
            // about what a degree is at two metres
            *height = more(height, (up * 0.035).max(-height.metres));
        }
        Place::At { x, y, z } => {
            *x = more(x, round * 0.035);
            *y = more(y, up * 0.035);
            *z = more(z, farther);
        }
    }
}

fn mirror_target(target: &mut Target) {
    match target {
        Target::Point { x, .. } => *x = like(x, -x.metres),
        Target::Toward { azimuth, .. } => *azimuth = -*azimuth,
        Target::LeftHand => *target = Target::RightHand,
        Target::RightHand => *target = Target::LeftHand,
        _ => {}
    }
}

/// Mirrors a thing left to right.
pub fn mirror(plan: &mut Plan, pick: &Pick) {
    if let Some(place) = place_mut(plan, pick) {
        match place {
            Place::Around { azimuth, of, .. } => {
                *azimuth = -*azimuth;
                mirror_target(of);
            }
            Place::Stand { azimuth, .. } => *azimuth = -*azimuth,
            Place::At { x, .. } => *x = like(x, -x.metres),
        }
    }
    if let Some(aim) = aim_mut(plan, pick) {
        mirror_target(aim);
    }
    match pick {
        Pick::Box(name) => {
            if let Some(one) = plan.boxes.iter_mut().find(|one| one.name == *name) {
                one.x = like(&one.x, -one.x.metres);
                one.turn = -one.turn;
            }
        }
        Pick::Sitter => {
            if let Some(sitter) = &mut plan.sitter {
                sitter.turn = -sitter.turn;
                sitter.head.turn = -sitter.head.turn;
                sitter.head.tilt = -sitter.head.tilt;
                sitter.x = like(&sitter.x, -sitter.x.metres);
            }
        }
        Pick::Board(name) => {
            if let Some(board) = plan.boards.iter_mut().find(|one| one.name == *name) {
                board.roll = -board.roll;
            }
        }
        _ => {}
    }
}

/// Copies a thing beside itself; what the copy is called.
pub fn duplicate(plan: &mut Plan, pick: &Pick) -> Option<Pick> {
    let copied = match pick {
        Pick::Light(name) => {
            let mut copy = plan.lights.iter().find(|one| one.name == *name)?.clone();
            copy.name = free_name(plan, name);
            let pick = Pick::Light(copy.name.clone());
            plan.lights.push(copy);
            pick
        }
        Pick::Board(name) => {
            let mut copy = plan.boards.iter().find(|one| one.name == *name)?.clone();
            copy.name = free_name(plan, name);
            let pick = Pick::Board(copy.name.clone());
            plan.boards.push(copy);
            pick
        }
        Pick::Box(name) => {
            let mut copy = plan.boxes.iter().find(|one| one.name == *name)?.clone();
            copy.name = free_name(plan, name);
            copy.x = like(&copy.x, copy.x.metres + copy.width.metres + 0.1);
            let pick = Pick::Box(copy.name.clone());
            plan.boxes.push(copy);
            pick
        }
        _ => return None,
    };
    if let Some(place) = place_mut(plan, &copied) {
        // beside it, so that it can be seen and taken hold of
        nudge(place, 15.0, 0.0, 0.0);
    }
    Some(copied)
}

/// Takes a thing away.
pub fn remove(plan: &mut Plan, pick: &Pick) {
    match pick {
        Pick::Light(name) => plan.lights.retain(|one| one.name != *name),
        Pick::Board(name) => plan.boards.retain(|one| one.name != *name),
        Pick::Cloth(name) => plan.cloths.retain(|one| one.name != *name),
        Pick::Box(name) => plan.boxes.retain(|one| one.name != *name),
        Pick::Sitter => plan.sitter = None,
        Pick::Room => plan.ambient = None,
        Pick::Camera | Pick::Development => {}
    }
}

/// A light's power turned by so many stops, within what its head can do.
pub fn turn_power(light: &mut Light, by: f64) {
    let lowest = light.head.lowest.stops;
    let stops = (light.power.stops + by).clamp(lowest.min(0.0), 0.0);
    // thirds stay exact: whole stops and a third counted up, as the file writes them
    let thirds = (stops * 3.0).round();
    let exact = (thirds / 3.0).floor() + thirds.rem_euclid(3.0) / 3.0;
    light.power.stops = if (exact - stops).abs() < 1e-6 { exact } else { stops };
}

/// Full f-number, shutter or ISO stops in thirds.
pub fn turn_aperture(aperture: Aperture, thirds: i32) -> Aperture {
    let av = (crate::optics::exposure::aperture_value(aperture.f_number) * 3.0).round();
    let f = crate::optics::exposure::f_number((av + f64::from(thirds)) / 3.0);
    let marked = crate::optics::fstop::marked(f.clamp(0.7, 90.0));
    Aperture { f_number: marked.trim_start_matches("f/").parse().unwrap_or(aperture.f_number) }
}

/// Marked shutter times in thirds of a stop.
const TIMES: [f64; 34] = [
    8000.0, 6400.0, 5000.0, 4000.0, 3200.0, 2500.0, 2000.0, 1600.0, 1250.0, 1000.0, 800.0, 640.0,
    500.0, 400.0, 320.0, 250.0, 200.0, 160.0, 125.0, 100.0, 80.0, 60.0, 50.0, 40.0, 30.0, 25.0,
    20.0, 15.0, 13.0, 10.0, 8.0, 6.0, 5.0, 4.0,
];

/// The next marked shutter time: + is shorter.
pub fn turn_shutter(shutter: Shutter, steps: i32) -> Shutter {
    let now = 1.0 / shutter.seconds;
    let nearest = |a: &f64, b: &f64| (a / now).ln().abs().total_cmp(&(b / now).ln().abs());
    let at = (0..TIMES.len()).min_by(|&a, &b| nearest(&TIMES[a], &TIMES[b])).unwrap_or(0);
    let next = (at as i32 - steps).clamp(0, TIMES.len() as i32 - 1) as usize;
    Shutter { seconds: 1.0 / TIMES[next] }
}

/// Marked ISO speeds in thirds.
pub fn turn_iso(iso: f64, thirds: i32) -> f64 {
    const MARKED: [f64; 3] = [100.0, 125.0, 160.0];
    let at = ((iso / 100.0).log2() * 3.0).round() as i32 + thirds;
    let at = at.clamp(-3, 30);
    MARKED[at.rem_euclid(3) as usize] * f64::from(at.div_euclid(3)).exp2()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::orbit::direction;

    fn empty() -> Plan {
        crate::plan::parse_draft("(format: 1)", "test").unwrap()
    }

    #[test]
    fn what_is_put_up_stands_and_has_a_name_of_its_own() {
        let mut plan = empty();
        for _ in 0..2 {
            for (what, _) in Put::ALL {
                let pick = put(&mut plan, what);
                assert!(pick.is_in(&plan), "{what:?}");
            }
        }
        assert!(crate::plan::check::check(&plan).is_empty());
        assert!(plan.lights.iter().any(|light| light.name == "key 2"));
        crate::stage::build(&plan).unwrap();
        let text = crate::plan::to_text(&plan).unwrap();
        assert_eq!(crate::plan::parse(&text, "again").unwrap(), plan);
    }

    #[test]
    fn every_kind_of_modifier_comes_with_its_usual_sizes() {
        for kind in MODIFIERS {
            let made = modifier(kind).unwrap_or_else(|| panic!("{kind}"));
            assert_eq!(kind_of(&made), kind);
        }
    }

    #[test]
    fn moving_there_puts_it_there() {
        let centre = Vec3::new(0.1, 1.6, 0.1);
        let point = centre + direction(-50.0, 30.0) * 2.0;
        let mut place = around_face(10.0, 10.0, 1.0);
        move_to(&mut place, point, centre, Snap::USUAL);
        assert_eq!(place, around_face(-50.0, 30.0, 2.0));
        let mut stand =
            Place::Stand { azimuth: 0.0, distance: Length::feet(3.0), height: Length::feet(3.0) };
        move_to(&mut stand, Vec3::new(1.0, 1.52, 0.0), centre, Snap::USUAL);
        let Place::Stand { azimuth, distance, height } = stand else { panic!("stays a stand") };
        assert_eq!(azimuth, 90.0);
        assert!((distance.metres - 1.0).abs() < 1e-6 && (height.metres - 1.5).abs() < 1e-6);
        assert_eq!(distance.unit, LengthUnit::Feet, "feet stay feet");
    }

    #[test]
    fn mirroring_twice_changes_nothing() {
        let mut plan = empty();
        let picks: Vec<Pick> = Put::ALL.iter().map(|(what, _)| put(&mut plan, *what)).collect();
        let before = plan.clone();
        for pick in &picks {
            mirror(&mut plan, pick);
        }
        assert_ne!(plan, before);
        for pick in &picks {
            mirror(&mut plan, pick);
        }
        assert_eq!(plan, before);
    }

    #[test]
    fn thirds_stay_thirds() {
        let mut plan = empty();
        put(&mut plan, Put::Key);
        let light = &mut plan.lights[0];
        for _ in 0..7 {
            turn_power(light, 1.0 / 3.0);
        }
        assert_eq!(light.power.display(), "1/2 + 1/3 (−⅔)");
        for _ in 0..90 {
            turn_power(light, -1.0 / 3.0);
        }
        assert_eq!(light.power.stops, -7.0, "no lower than the head goes");
        assert_eq!(turn_aperture(Aperture { f_number: 8.0 }, 1).to_string(), "f/9");
        assert_eq!(turn_aperture(Aperture { f_number: 8.0 }, -3).f_number, 5.6);
        assert_eq!(turn_iso(100.0, 4), 250.0);
        assert_eq!(turn_shutter(Shutter { seconds: 1.0 / 125.0 }, 1).to_string(), "1/160 s");
    }
}
