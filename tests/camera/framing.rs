//! What fills the frame, and what is sharp: measured in rendered depth, not by the solver's own
//! arithmetic.

use foreshadow::optics::lens::distance_to_fill_mm;
use foreshadow::plan::Plan;
use foreshadow::stage::{self, Stage, StageError};
use glam::Vec3;

use crate::set::{close, parse, rendered};

fn plan(sitter: &str, camera: &str) -> Plan {
    parse(&format!(
        "(format: 1, room: (width: 8, depth: 10, mark: (from_left: 4, from_back: 2)), \
         sitter: (height: 1.8, {sitter}), ambient: (ev: 5), camera: ({camera}))"
    ))
}

/// First and last row of the picture that show the sitter, as shares of its height from the top.
fn seen(plan: &Plan) -> (Stage, [f64; 2]) {
    let (width, height) = (80, 120);
    let (stage, layers) = rendered(plan, (width, height), 1);
    // the room's back wall is two metres behind the sitter
    let body_m = stage.camera.focus_m as f32 + 0.7;
    let shows = |row: u32| {
        let row = (row * width) as usize..((row + 1) * width) as usize;
        layers.depth[row].iter().any(|depth| *depth > 0.0 && *depth < body_m)
    };
    let rows: Vec<u32> = (0..height).filter(|row| shows(*row)).collect();
    let (first, last) = (rows[0], rows[rows.len() - 1]);
    (stage, [f64::from(first), f64::from(last + 1)].map(|row| row / f64::from(height)))
}

fn mark(stage: &Stage, name: &str) -> Vec3 {
    stage.marks.iter().find(|mark| mark.name == name).unwrap().position
}

#[test]
fn a_part_fills_its_share_by_distance_and_by_lens() {
    for by in ["Distance", "Lens"] {
        for (part, share, cut) in [
            ("Head", 0.5, Some("chin")),
            ("HeadAndShoulders", 0.6, None),
            ("HalfLength", 0.9, Some("hips")),
            ("ThreeQuarter", 0.9, None),
        ] {
            let framing =
                format!("focal_mm: 85, framing: (part: {part}, height: {share}, by: {by})");
            let plan = plan("", &framing);
            let (stage, [top, _]) = seen(&plan);
            // the frame's middle is the part's: the rest is shared above and below
            let wanted = 0.5 * (1.0 - share);
            assert!((top - wanted).abs() < 0.012, "{part} by {by}: top at {top}, wanted {wanted}");
            if let Some(cut) = cut {
                let (film, _) = stage.camera.project(mark(&stage, cut)).unwrap();
                let low = f64::from(film.y);
                assert!((low - (1.0 - wanted)).abs() < 0.03, "{part} by {by}: cut at {low}");
            }
            let focal_mm = 1e3 * stage.camera.focal_m;
            assert_eq!(by == "Distance", (focal_mm - 85.0).abs() < 1e-9, "{focal_mm}");
        }
    }
}

/// Case M01's rule: 85 mm on 36 mm upright takes f·(H/h + 1) for a frame H high.
#[test]
fn full_length_takes_the_distance_of_the_rule() {
    let plan = plan("", "focal_mm: 85, framing: (part: FullLength, height: 0.9)");
    let (stage, [top, _]) = seen(&plan);
    assert!((top - 0.05).abs() < 0.012, "{top}");
    let (soles, _) = stage.camera.project(mark(&stage, "feet").with_y(0.0)).unwrap();
    assert!((soles.y - 0.95).abs() < 0.02, "{soles}");
    let body = |m: &stage::Mesh| matches!(m.role, stage::Role::Skin | stage::Role::Hair);
    let points = || stage.meshes.iter().filter(|m| body(m)).flat_map(|m| m.positions.iter());
    let tall_m = points().fold(0.0f32, |most, p| most.max(p.y));
    let wanted_mm = distance_to_fill_mm(85.0, 1e3 * f64::from(tall_m) / 0.9, 36.0);
    let away = stage.camera.position.with_y(0.0).distance(mark(&stage, "hips").with_y(0.0));
    close(f64::from(away), 1e-3 * wanted_mm, 0.05);
}

#[test]
fn the_part_rises_in_the_frame_when_asked() {
    let low = seen(&plan("", "framing: (part: Head, height: 0.4)")).1[0];
    let high = seen(&plan("", "framing: (part: Head, height: 0.4, rise: 0.1)")).1[0];
    assert!((low - high - 0.1).abs() < 0.02, "{low} {high}");
}

#[test]
fn level_frames_and_things_of_the_set() {
    let plan = parse(
        "(format: 1, room: (width: 8, depth: 10), ambient: (ev: 5), \
         boxes: [(name: \"plinth\", width: 0.4, height: 0.8, depth: 0.4)], \
         camera: (upright: false, focus: Named(\"plinth\"), place: Stand(azimuth: 30, \
         distance: 3, height: 0.4), framing: (part: Named(\"plinth\"), height: 0.5)))",
    );
    let stage = stage::build(&plan).unwrap();
    assert!(stage.camera.sensor_m[0] > stage.camera.sensor_m[1]);
    let mesh = stage.meshes.iter().find(|mesh| mesh.name == "plinth").unwrap();
    let rows = mesh.positions.iter().map(|p| stage.camera.project(*p).unwrap().0.y);
    let (low, high) = rows.fold((f32::MAX, f32::MIN), |(l, h), y| (l.min(y), h.max(y)));
    close(f64::from(high - low), 0.5, 0.001);
    close(f64::from(high + low), 1.0, 0.001);
}

#[test]
fn a_frame_that_cannot_be_had_is_told() {
    let small = parse(
        "(format: 1, room: (width: 4, depth: 4.5), sitter: (), ambient: (ev: 5), \
         camera: (focal_mm: 135, place: Stand(azimuth: 0, distance: 2, height: 1.4), \
         framing: (part: FullLength, height: 0.9)))",
    );
    let error = stage::build(&small).unwrap_err();
    assert_eq!(error.field(&small), "camera.framing");
    let (problem, remedy) = error.told();
    assert!(problem.contains("135 mm") && problem.contains("the room leaves"), "{problem}");
    assert!(remedy.contains("by: Lens"), "{remedy}");
    // the lens it names does it from the wall
    let fits: f64 =
        remedy.split("a lens of ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let text = format!(
        "(format: 1, room: (width: 4, depth: 4.5), sitter: (), ambient: (ev: 5), \
         camera: (focal_mm: {fits}, place: Stand(azimuth: 0, distance: 2, height: 1.4), \
         framing: (part: FullLength, height: 0.9)))"
    );
    assert!(stage::build(&parse(&text)).is_ok(), "{fits}");
    assert!(matches!(error, StageError::Framing(_)));
}

/// The plane of focus goes through the eye nearer to the camera, whichever way the head is turned.
#[test]
fn the_nearer_eye_is_sharp_by_default() {
    let mut nearer = Vec::new();
    for turn in [-35.0, 35.0] {
        let plan = plan(&format!("head: (turn: {turn})"), "");
        let stage = stage::build(&plan).unwrap();
        let camera = &stage.camera;
        let eyes = ["left_eye", "right_eye"].map(|name| mark(&stage, name));
        let near = eyes[0].distance(camera.position) < eyes[1].distance(camera.position);
        let eye = eyes[usize::from(!near)];
        let along = f64::from((eye - camera.position).dot(camera.forward));
        close(camera.focus_m, along, 1e-6);
        let other = eyes[usize::from(near)].distance(camera.position);
        assert!(other - eye.distance(camera.position) > 0.02, "the head is turned");
        nearer.push(near);
    }
    assert_ne!(nearer[0], nearer[1]);
}
