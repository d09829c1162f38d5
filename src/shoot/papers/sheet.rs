//! The set-up sheet: the plan, its stage and its readings as a record, and the record as pages.

use std::path::PathBuf;

use glam::Vec3;
use serde::Serialize;

use super::place::PaperPlace;
use super::series::{self, Test as Frame};
use super::{face, gear, reads, signed, title, words};
use crate::meter::held_at;
use crate::optics::lens;
use crate::papers::Paper;
use crate::papers::sheet::record::{
    Aim, Ambient, Board, CameraBlock, Caution, Light, Room, SetUp, Sitter, Spot, TapePoint, Test,
};
use crate::papers::sheet::{self, Units};
use crate::plan::{self, Plan, Target};
use crate::shoot::check::{self, Note};
use crate::shoot::options::{DomeAim, MeterOptions, MeterPoint, Progress};
use crate::shoot::{Readings, ShootError, read_meter, still};
use crate::stage::{self, AMBIENT, Stage};

/// A sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetOptions {
    /// Job line: client, place, crew.
    pub job: String,
    /// For the page's head.
    pub date: String,
    /// What lengths are printed in.
    pub units: Units,
    /// The page.
    pub paper: Paper,
    /// Same seed, same readings.
    pub seed: u64,
}

/// What a sheet says, and where.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetManifest {
    /// All of it.
    #[serde(flatten)]
    pub setup: SetUp,
    /// The pages, a file each.
    pub pages: Vec<PathBuf>,
}

/// Writes the sheet to its place.
pub fn sheet(
    plan: &Plan,
    options: &SheetOptions,
    place: &PaperPlace,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<SheetManifest, ShootError> {
    progress(Progress { done: 0.0, step: "building" });
    let stage = stage::build(plan)?;
    progress(Progress { done: 0.3, step: "reading" });
    let setup = set_up(plan, &stage, options)?;
    progress(Progress { done: 0.7, step: "drawing" });
    let pages = sheet::pages(&setup, &stage, options.paper);
    let pages = place.write(&pages, options.paper, &setup.title)?;
    Ok(SheetManifest { setup, pages })
}

/// The record of a plan on its stage.
pub fn set_up(plan: &Plan, stage: &Stage, options: &SheetOptions) -> Result<SetUp, ShootError> {
    let readings = if still::lit(plan, &[]).is_empty() {
        None
    } else {
        let (face, _) = held_at(stage, "face");
        // where there is no sitter, where a standing adult's would be
        let at = match stage.marks.iter().any(|mark| mark.name == "face") {
            true => MeterPoint::Mark("face".into()),
            false => MeterPoint::Point(face.as_dvec3().to_array()),
        };
        let meter = MeterOptions {
            at,
            dome: DomeAim::Camera,
            flat: false,
            spot_degrees: None,
            seed: options.seed,
        };
        Some(read_meter::read(plan, stage, &meter)?)
    };
    let tape = tape_points(stage);
    let tests = readings.as_ref().map_or(Vec::new(), |readings| tests(plan, readings));
    let lights = lights(plan, stage, readings.as_ref(), &tape);
    let notes = check::check(plan, Ok(stage));
    Ok(SetUp {
        title: title(plan),
        note: plan.note.clone(),
        job: options.job.clone(),
        date: options.date.clone(),
        units: options.units,
        room: room(stage),
        camera: camera(plan, stage, &tape),
        sitter: plan.sitter.as_ref().map(|sitter| sitter_block(sitter, stage)),
        boards: boards(plan, stage, &tape),
        cloths: plan.cloths.iter().map(|cloth| words::cloth(cloth, options.units)).collect(),
        boxes: plan.boxes.iter().map(|one| words::set_box(one, options.units)).collect(),
        ambient: plan.ambient.as_ref().map(|room| Ambient {
            ev: room.ev,
            kelvin: room.kelvin,
            f_number: readings.as_ref().and_then(|r| r.ambient.as_ref()?.f_number),
        }),
        tests,
        pack: gear::pack(plan, &lights, &notes, longest_tape_m(&lights), options.units),
        cautions: notes.iter().map(caution).collect(),
        lights,
        tape,
    })
}

/// To a tenth of a millimetre.
fn fine(metres: f32) -> f64 {
    (f64::from(metres) * 1e4).round() * 1e-4
}

/// To a thousandth of a degree.
fn fine_deg(degrees: f64) -> f64 {
    // −0 is 0
    (degrees * 1e3).round() * 1e-3 + 0.0
}

fn room(stage: &Stage) -> Room {
    Room {
        left_m: fine(-stage.room.min.x),
        right_m: fine(stage.room.max.x),
        back_m: fine(-stage.room.min.z),
        front_m: fine(stage.room.max.z),
        height_m: fine(stage.room.max.y),
    }
}

fn spot(at: Vec3, tape: &[TapePoint; 2]) -> Spot {
    let to = |point: &TapePoint| {
        let off = (f64::from(at.x) - point.x_m).hypot(f64::from(at.z) - point.z_m);
        (off * 1e4).round() * 1e-4
    };
    Spot {
        x_m: fine(at.x),
        z_m: fine(at.z),
        height_m: fine(at.y),
        floor_distance_m: fine(at.x.hypot(at.z)),
        azimuth_deg: azimuth_deg(at),
        tapes_m: [to(&tape[0]), to(&tape[1])],
    }
}

/// Round the vertical: 0 toward +z, 90 toward +x.
fn azimuth_deg(way: Vec3) -> f64 {
    if way.x == 0.0 && way.z == 0.0 {
        return 0.0;
    }
    fine_deg(f64::from(way.x).atan2(way.z.into()).to_degrees())
}

fn aim(target: &Target, from: Vec3, axis: Vec3, stage: &Stage) -> Aim {
    let mark = |name: &str| stage.marks.iter().find(|mark| mark.name == name).map(|m| m.position);
    let eye = || {
        let near = |name: &str| mark(name).map(|at| at.distance(from));
        near("left_eye").into_iter().chain(near("right_eye")).reduce(f32::min)
    };
    let to = |name: &str| mark(name).unwrap_or(Vec3::Y * stage::ABSENT_FACE_M).distance(from);
    let (at, distance) = match target {
        Target::Face => ("the face".into(), Some(to("face"))),
        Target::NearEye => ("the nearer eye".into(), Some(eye().unwrap_or(to("face")))),
        Target::Chest => ("the chest".into(), Some(to("chest"))),
        Target::Hips => ("the hips".into(), Some(to("hips"))),
        Target::RightHand => ("the sitter's right hand".into(), Some(to("right_hand"))),
        Target::LeftHand => ("the sitter's left hand".into(), Some(to("left_hand"))),
        Target::Crown => ("the back of the head".into(), Some(to("crown"))),
        Target::Feet => {
            let feet = mark("feet").unwrap_or(Vec3::ZERO).with_y(0.0);
            ("the floor between the feet".into(), Some(feet.distance(from)))
        }
        Target::Mark => ("the mark".into(), Some(from.length())),
        Target::Ceiling => ("the ceiling above it".into(), Some(stage.room.max.y - from.y)),
        Target::Named(name) => (format!("\"{name}\""), Some(to(name))),
        Target::Point { x, y, z } => {
            let point = Vec3::new(x.metres as f32, y.metres as f32, z.metres as f32);
            let shown = format!("a point {x} right, {y} up, {z} toward the camera");
            (shown.replace("-", "−"), Some(point.distance(from)))
        }
        Target::Toward { .. } => ("a direction".into(), None),
    };
    Aim {
        at,
        azimuth_deg: azimuth_deg(axis),
        // by the tangent: the sine says little near straight up
        tilt_deg: fine_deg(
            f64::from(axis.y).atan2(f64::from(axis.x).hypot(axis.z.into())).to_degrees(),
        ),
        distance_m: distance.map(fine),
    }
}

fn camera(plan: &Plan, stage: &Stage, tape: &[TapePoint; 2]) -> CameraBlock {
    let (planned, camera) = (&plan.camera, &stage.camera);
    let [wide, high] = camera.sensor_m.map(|side| side * 1e3);
    let coc = lens::circle_of_confusion_mm(wide, high, 1500.0);
    let f_number = planned.aperture.f_number;
    let sharp = lens::depth_of_field(planned.focal_mm, f_number, coc, camera.focus_m * 1e3);
    let limit = |mm: f64| mm.is_finite().then(|| fine((mm * 1e-3) as f32));
    let half = camera.half_frame();
    let frame = |half: f32| fine(2.0 * half * camera.focus_m as f32);
    let focus = aim(&planned.focus, camera.position, camera.forward, stage);
    CameraBlock {
        spot: spot(camera.position, tape),
        aim: aim(&planned.aim, camera.position, camera.forward, stage),
        format_mm: [wide, high].map(|mm| (mm * 1e3).round() * 1e-3),
        upright: planned.upright,
        focal_mm: planned.focal_mm,
        aperture: f_number,
        shutter_s: planned.shutter.seconds,
        sync_s: planned.sync.seconds,
        iso: planned.iso,
        white_balance_k: planned.white_balance,
        focus_m: fine(camera.focus_m as f32),
        focus_on: focus.at,
        sharp_m: [limit(sharp.near_mm), limit(sharp.far_mm)],
        frame_m: [frame(half.x), frame(half.y)],
        words: format!("{}, {}", planned.aperture, planned.shutter),
    }
}

fn sitter_block(sitter: &plan::Sitter, stage: &Stage) -> Sitter {
    let face = stage.marks.iter().find(|mark| mark.name == "face").map(|mark| mark.position);
    Sitter {
        x_m: sitter.x.metres,
        z_m: sitter.z.metres,
        turn_deg: sitter.turn,
        head_turn_deg: sitter.head.turn,
        height_m: sitter.height.metres,
        face_height_m: fine(face.map_or(stage::ABSENT_FACE_M, |face| face.y)),
        words: words::sitter(sitter),
    }
}

fn lights(
    plan: &Plan,
    stage: &Stage,
    readings: Option<&Readings>,
    tape: &[TapePoint; 2],
) -> Vec<Light> {
    let face = stage.marks.iter().find(|mark| mark.name == "face").map(|mark| mark.position);
    let face = face.unwrap_or(Vec3::Y * stage::ABSENT_FACE_M);
    let strongest = readings.and_then(|readings| {
        let lights = readings.lights.iter();
        lights.max_by(|a, b| a.flash_lux_s.total_cmp(&b.flash_lux_s)).map(|one| one.name.clone())
    });
    plan.lights
        .iter()
        .zip(&stage.lights)
        .enumerate()
        .map(|(index, (light, staged))| {
            let source = &staged.source;
            let alone = readings
                .and_then(|readings| readings.lights.iter().find(|one| one.name == light.name));
            let off = source.position - face;
            let energy = light.head.energy_ws;
            let power_stops = light.power.stops;
            let words = match alone {
                Some(one) => {
                    let versus = one.stops_vs_camera.map_or(String::new(), |stops| {
                        format!(", {} to {}", signed(stops), plan.camera.aperture)
                    });
                    format!("{}{versus}", reads(one.f_number))
                }
                None => "off".into(),
            };
            Light {
                number: index + 1,
                name: light.name.clone(),
                role: words::role(light, source, strongest.as_deref() == Some(&light.name)),
                on: light.on,
                spot: spot(source.position, tape),
                aim: aim(&light.aim, source.position, source.axis, stage),
                face_distance_m: fine(off.length()),
                face_elevation_deg: fine_deg(
                    f64::from(off.y).atan2(f64::from(off.x.hypot(off.z))).to_degrees(),
                ),
                modifier: words::modifier(light),
                gel: light.gel.as_ref().map(words::gel),
                power_stops,
                power: light.power.display(),
                energy_ws: (energy * power_stops.exp2() * 10.0).round() / 10.0,
                full_energy_ws: energy,
                kelvin: light.head.kelvin,
                support: check::support(staged, stage).into(),
                alone_f_number: alone.and_then(|one| one.f_number),
                alone_stops_vs_camera: alone.and_then(|one| one.stops_vs_camera),
                alone: words,
            }
        })
        .collect()
}

fn boards(plan: &Plan, stage: &Stage, tape: &[TapePoint; 2]) -> Vec<Board> {
    plan.boards
        .iter()
        .filter_map(|board| {
            let mark = stage.marks.iter().find(|mark| mark.name == board.name)?;
            Some(Board {
                name: board.name.clone(),
                words: words::board(board),
                spot: spot(mark.position, tape),
                aim: aim(&board.aim, mark.position, mark.facing, stage),
                roll_deg: board.roll,
                width_m: board.width.metres,
                height_m: board.height.metres,
            })
        })
        .collect()
}

fn tests(plan: &Plan, readings: &Readings) -> Vec<Test> {
    let setting = crate::shoot::gains::exposure(plan);
    let level = |name: &String| {
        if name == AMBIENT {
            return readings.ambient.as_ref().map_or(0.0, |room| room.lux * setting.shutter_s);
        }
        let light = readings.lights.iter().find(|light| light.name == *name);
        light.map_or(0.0, |light| light.flash_lux_s)
    };
    let flashes = readings.lights.iter().map(|light| light.name.clone());
    let names: Vec<String> =
        flashes.chain(readings.ambient.as_ref().map(|_| AMBIENT.to_owned())).collect();
    let read =
        |on: &[String]| face::reading_of(on.iter().map(level).sum(), &setting, plan.meter_constant);
    let row = |frame: Frame| Test {
        words: reads(frame.reading.f_number),
        change_words: frame.change.map_or(String::new(), signed),
        name: frame.name,
        on: frame.on,
        f_number: frame.reading.f_number,
        change_stops: frame.change,
    };
    let room: Vec<String> = names.iter().filter(|name| *name == AMBIENT).cloned().collect();
    series::order(&names, &room, read).into_iter().map(row).collect()
}

fn caution(note: &Note) -> Caution {
    let severity = match note.severity {
        check::Severity::Problem => "problem",
        check::Severity::Caution => "caution",
        check::Severity::Safety => "safety",
    };
    Caution {
        severity: severity.into(),
        subject: note.subject.clone(),
        words: format!("{}; {}", note.what, note.remedy),
    }
}

/// The longest tape of all lights, metres.
fn longest_tape_m(lights: &[Light]) -> f64 {
    lights.iter().flat_map(|light| light.spot.tapes_m).fold(0.0, f64::max)
}

/// Two fixed points of the floor whose tapes cross at good angles under every head: two corners of
/// the room along one wall, or a corner and the mark.
fn tape_points(stage: &Stage) -> [TapePoint; 2] {
    let room = stage.room;
    let corner =
        |x: f32, z: f32, words: &str| (Vec3::new(x, 0.0, z), format!("floor corner, {words}"));
    let corners = [
        corner(room.min.x, room.min.z, "back wall and left wall"),
        corner(room.max.x, room.min.z, "back wall and right wall"),
        corner(room.max.x, room.max.z, "front wall and right wall"),
        corner(room.min.x, room.max.z, "front wall and left wall"),
    ];
    let mark = (Vec3::ZERO, "the stage mark (tape a cross)".to_owned());
    let mut pairs = Vec::new();
    for k in 0..4 {
        pairs.push((corners[k].clone(), corners[(k + 1) % 4].clone(), 1.15));
        pairs.push((mark.clone(), corners[k].clone(), 1.0));
    }
    let plumbs: Vec<Vec3> = stage
        .lights
        .iter()
        .filter(|light| light.name != AMBIENT)
        .map(|light| light.source.position.with_y(0.0))
        .collect();
    // how squarely the tapes cross under the worst placed head
    let worth = |a: Vec3, b: Vec3| {
        plumbs
            .iter()
            .map(|p| {
                let (to_a, to_b) = ((a - *p).normalize_or_zero(), (b - *p).normalize_or_zero());
                to_a.cross(to_b).length()
            })
            .fold(1.0, f32::min)
    };
    let best = pairs.into_iter().max_by(|(a, b, bonus), (c, d, other)| {
        (worth(a.0, b.0) * bonus).total_cmp(&(worth(c.0, d.0) * other))
    });
    let (a, b, _) = best.unwrap_or((corners[0].clone(), corners[1].clone(), 1.0));
    [("A", a), ("B", b)].map(|(name, (at, place))| TapePoint {
        name: name.into(),
        place,
        x_m: fine(at.x),
        z_m: fine(at.z),
    })
}
