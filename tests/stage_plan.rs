//! From plan to stage: lights stand where the plan says, measured back from the stage; marks,
//! feet and bounds are right for every shipped scene.

use foreshadow::plan::{self, Modifier, Place, Plan, Target, shipped};
use foreshadow::shoot::{self, DomeAim, MeterOptions, MeterPoint};
use foreshadow::stage::{self, Role, Stage};
use glam::Vec3;

fn scenes() -> Vec<(&'static str, Plan, Stage)> {
    shipped::SHIPPED
        .iter()
        .map(|one| {
            let plan = plan::parse(one.text, one.name).unwrap_or_else(|e| panic!("{e}"));
            let stage = stage::build(&plan).unwrap_or_else(|e| panic!("{}: {e}", one.name));
            (one.name, plan, stage)
        })
        .collect()
}

fn mark(stage: &Stage, name: &str) -> Vec3 {
    let found = stage.marks.iter().find(|mark| mark.name == name);
    found.unwrap_or_else(|| panic!("no mark {name}")).position
}

#[track_caller]
fn millimetre(got: f32, expected: f64, what: &str) {
    assert!((f64::from(got) - expected).abs() < 1e-3, "{what}: {got}, planned {expected}");
}

/// Angles are compared as lengths on the circle they are drawn on.
#[track_caller]
fn arc(got_rad: f32, planned_deg: f64, radius: f32, what: &str) {
    let off = (f64::from(got_rad) - planned_deg.to_radians()).sin_cos();
    let off = off.0.atan2(off.1).abs() * f64::from(radius);
    assert!(off < 1e-3, "{what}: {} °, planned {planned_deg} °", got_rad.to_degrees());
}

/// Measures a placed thing back and compares with its place; false where the place is relative
/// to something this test does not look up.
fn stands(stage: &Stage, at: Vec3, place: &Place, what: &str) -> bool {
    match place {
        Place::Around { azimuth, elevation, distance, of } => {
            let centre = match of {
                Target::Face => mark(stage, "face"),
                Target::Chest => mark(stage, "chest"),
                Target::Hips => mark(stage, "hips"),
                Target::Mark => Vec3::ZERO,
                _ => return false,
            };
            let out = at - centre;
            let flat = out.x.hypot(out.z);
            millimetre(out.length(), distance.metres, what);
            arc(out.y.atan2(flat), *elevation, out.length(), what);
            arc(out.x.atan2(out.z), *azimuth, flat, what);
        }
        Place::Stand { azimuth, distance, height } => {
            millimetre(at.y, height.metres, what);
            millimetre(at.x.hypot(at.z), distance.metres, what);
            if distance.metres > 0.0 {
                arc(at.x.atan2(at.z), *azimuth, at.x.hypot(at.z), what);
            }
        }
        Place::At { x, y, z } => {
            for (got, planned) in at.to_array().into_iter().zip([x, y, z]) {
                millimetre(got, planned.metres, what);
            }
        }
    }
    true
}

#[test]
fn lights_and_camera_stand_where_the_plan_says() {
    let mut measured = 0;
    for (name, plan, stage) in scenes() {
        for (planned, light) in plan.lights.iter().zip(&stage.lights) {
            assert_eq!(planned.name, light.name);
            let what = format!("{name}, {}", light.name);
            measured += u32::from(stands(&stage, light.source.position, &planned.place, &what));
            match planned.aim {
                Target::Ceiling => assert!(light.source.axis.y > 0.999_99, "{what} looks up"),
                Target::Face => {
                    let toward = mark(&stage, "face") - light.source.position;
                    let off = toward.normalize().angle_between(light.source.axis) * toward.length();
                    assert!(off < 1e-3, "{what} misses the face by {off} m");
                }
                _ => {}
            }
        }
        stands(&stage, stage.camera.position, &plan.camera.place, &format!("{name}, camera"));
    }
    assert!(measured >= 3, "only {measured} lights were measured");
}

/// Every kind of place on a plan of its own, measured back.
#[test]
fn every_kind_of_place() {
    let text = r#"(format: 1, room: (width: 10.0, depth: 10.0, height: 5.0,
            mark: (from_left: 5.0, from_back: 5.0)), sitter: (),
        lights: [
            (name: "a", place: Around(azimuth: -60.0, elevation: 35.0, distance: 2.5)),
            (name: "b", place: Around(azimuth: 150.0, elevation: -10.0, distance: "4 ft", of: Hips)),
            (name: "c", place: Stand(azimuth: 95.0, distance: 3.0, height: "210 cm")),
            (name: "d", place: At(x: -1.0, y: 0.4, z: -2.5), aim: Ceiling),
            (name: "e", place: Around(azimuth: 180.0, elevation: 0.0, distance: 1.2, of: Chest)),
        ])"#;
    let plan = plan::parse(text, "places").unwrap_or_else(|e| panic!("{e}"));
    let stage = stage::build(&plan).unwrap_or_else(|e| panic!("{e}"));
    for (planned, light) in plan.lights.iter().zip(&stage.lights) {
        assert!(stands(&stage, light.source.position, &planned.place, &light.name));
    }
}

#[test]
fn marks_and_bounds() {
    for (name, plan, stage) in scenes() {
        for one in plan.cloths.iter().map(|c| &c.name).chain(plan.boxes.iter().map(|b| &b.name)) {
            mark(&stage, one);
        }
        for mark in &stage.marks {
            assert!(mark.position.is_finite(), "{name}: {}", mark.name);
            assert!((mark.facing.length() - 1.0).abs() < 1e-3, "{name}: {}", mark.name);
        }
        let (low, high) = (stage.room.min - 1e-3, stage.room.max + 1e-3);
        for light in &stage.lights {
            let p = light.source.position;
            assert!(p.cmpge(low).all() && p.cmple(high).all(), "{name}: {} at {p}", light.name);
        }
        let Some(sitter) = &plan.sitter else { continue };
        for part in ["face", "left_eye", "right_eye", "chest", "hips", "left_hand", "right_hand"] {
            mark(&stage, part);
        }
        if sitter.seat.is_none() {
            let lowest = lowest(&stage);
            assert!(lowest < 5e-3, "{name}: the sitter floats {lowest} m above the floor");
        }
    }
}

/// Height of the lowest point of body and clothes.
fn lowest(stage: &Stage) -> f32 {
    let worn = stage.meshes.iter().filter(|m| matches!(m.role, Role::Skin | Role::Garment));
    worn.flat_map(|mesh| &mesh.positions).map(|p| p.y).fold(f32::INFINITY, f32::min)
}

/// Nothing reaches through a wall, the floor or the ceiling. All faults are listed at once.
#[test]
fn nothing_outside_the_room() {
    let mut faults = String::new();
    for (name, _, stage) in scenes() {
        for mesh in stage.meshes.iter().filter(|mesh| mesh.role != Role::Room) {
            let beyond = |p: &Vec3| (stage.room.min - *p).max(*p - stage.room.max).max_element();
            let worst = mesh.positions.iter().map(beyond).fold(0.0, f32::max);
            if worst > 1e-3 {
                faults += &format!("\n{name}: {} reaches {worst:.4} m outside", mesh.name);
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// A head that lights one way only and is aimed at the ceiling.
fn bounces(light: &plan::Light) -> bool {
    let one_way = !matches!(light.modifier, Modifier::BareTube { .. });
    light.on && one_way && light.aim == Target::Ceiling
}

/// A head aimed at the ceiling lights the sitter from there, not straight. A bare tube lights
/// all round and is left out.
#[test]
fn ceiling_heads_light_by_way_of_the_ceiling() {
    let mut found = 0;
    for (name, plan, stage) in scenes() {
        let options = MeterOptions {
            at: MeterPoint::Mark("face".into()),
            dome: DomeAim::Camera,
            flat: false,
            spot_degrees: None,
            seed: 1,
        };
        if plan.sitter.is_none() || !plan.lights.iter().any(bounces) {
            continue;
        }
        let readings = shoot::read(&plan, &stage, &options).unwrap();
        for light in plan.lights.iter().filter(|light| bounces(light)) {
            let got = readings.lights.iter().find(|one| one.name == light.name).unwrap();
            assert!(got.bounced_lux_s > 0.0, "{name}: {} gives nothing", light.name);
            assert!(
                got.bounced_lux_s > 20.0 * got.direct_lux_s,
                "{name}: {} gives {} straight and {} bounced",
                light.name,
                got.direct_lux_s,
                got.bounced_lux_s
            );
            found += 1;
        }
    }
    assert!(found > 0, "no shipped scene has a head aimed at the ceiling");
}
