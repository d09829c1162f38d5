//! The sitter against published measures, joint ranges, the ground it rests on, and itself.

use std::collections::HashMap;

use glam::{Mat3, Vec3};

use super::body::Body;
use super::field::{Field, Frame};
use super::pose::{Angles, Swing};
use super::proportions::Proportions;
use super::skeleton::{Bone, Skeleton};
use super::stance::{Ground, Stance, stance};
use super::{Role, SitterError, build};
use crate::plan::{
    Fabric, Finish, Garment, GarmentCut, Hair, HairStyle, HeadTurn, Length, Paint, Pose, SetBox,
    Sitter,
};

fn bald(height: f64, proportion: f64) -> Sitter {
    Sitter {
        height: Length::metres(height),
        proportion,
        hair: Hair { style: HairStyle::Bald, ..Hair::default() },
        ..Sitter::default()
    }
}

fn crate_box(height: f64) -> SetBox {
    SetBox {
        name: "crate".into(),
        width: Length::metres(0.5),
        height: Length::metres(height),
        depth: Length::metres(0.5),
        x: Length::metres(0.3),
        z: Length::metres(-0.2),
        base: Length::metres(0.0),
        turn: 0.0,
        paint: Paint::grey(0.3),
    }
}

fn standing_body(height: f32, male: f32) -> Body {
    let m = Proportions::of(height, 0.0, male);
    let skeleton = Skeleton::of(&m);
    let stood = stance(Pose::Standing, HeadTurn::default(), &m, &skeleton, Ground::Floor);
    Body::of(m, &skeleton, &stood, Ground::Floor)
}

/// Half-extents of a horizontal section of some parts, from the middle: +x, +z, −z; and its girth.
/// `drop` leans the section down toward the front, in degrees.
fn section(body: &Body, parts: &[usize], y: f32, z: f32, drop: f32) -> ([f32; 3], f32) {
    let field = Field {
        parts: parts.iter().map(|i| body.field.parts[*i].clone()).collect(),
        rests: Vec::new(),
    };
    let middle = Vec3::new(0.0, y, z);
    let reach = |dir: Vec3| {
        let mut t = 0.0;
        while field.at(middle + dir * t) < 0.0 && t < 0.5 {
            t += 0.0005;
        }
        t
    };
    let mut girth = 0.0;
    let mut last = None;
    for i in 0..=72 {
        let (sin, cos) = (i as f32 / 72.0 * std::f32::consts::TAU).sin_cos();
        let out = Mat3::from_rotation_x(drop.to_radians()) * Vec3::new(sin, 0.0, cos);
        let p = out * reach(out);
        if let Some(last) = last {
            girth += p.distance(last);
        }
        last = Some(p);
    }
    ([reach(Vec3::X), reach(Vec3::Z), reach(Vec3::NEG_Z)], girth)
}

/// ANSUR II 5th and 95th percentiles in millimetres (US Army Natick TR-15/007): women, men.
const RANGES: [(&str, [f32; 2], [f32; 2]); 19] = [
    ("sitting height", [803.0, 912.0], [860.0, 977.0]),
    ("head length", [178.0, 202.0], [188.0, 211.0]),
    ("head breadth", [140.0, 156.0], [146.0, 163.0]),
    ("bizygomatic", [125.0, 143.0], [133.0, 153.0]),
    ("sellion-menton", [104.0, 123.0], [112.0, 134.0]),
    ("interpupillary", [55.5, 67.5], [58.5, 70.0]),
    ("tragion to top", [116.0, 137.0], [121.0, 141.0]),
    ("ear length", [53.0, 66.0], [57.0, 72.0]),
    ("bideltoid", [406.0, 499.0], [459.0, 567.0]),
    ("chest breadth", [241.0, 302.0], [261.0, 320.0]),
    ("chest depth", [205.0, 295.8], [211.0, 298.0]),
    ("waist breadth", [250.2, 356.0], [272.0, 385.0]),
    ("waist depth", [169.0, 270.8], [188.0, 300.0]),
    ("hip breadth", [311.0, 400.0], [308.0, 387.0]),
    ("buttock depth", [196.0, 277.0], [204.0, 291.0]),
    ("neck girth", [302.0, 363.0], [360.0, 443.0]),
    ("foot length", [226.0, 267.8], [250.0, 293.0]),
    ("hand length", [165.0, 199.0], [177.0, 210.0]),
    ("mid-patella height", [408.0, 493.0], [443.1, 536.0]),
];

fn measured(height: f32, male: f32) -> HashMap<&'static str, f32> {
    let body = standing_body(height, male);
    let skin = body.skin();
    let inward = body.posed.head().inverse();
    let head: Vec<Vec3> = skin[1].1.positions.iter().map(|p| inward.point(*p)).collect();
    let most = |points: &[Vec3], pick: &dyn Fn(Vec3) -> bool, value: &dyn Fn(Vec3) -> f32| {
        points.iter().filter(|p| pick(**p)).map(|p| value(*p)).fold(f32::MIN, f32::max)
    };
    let mut got = HashMap::new();
    let crown = most(&head, &|_| true, &|p| p.y);
    got.insert("tragion to top", crown);
    let back = most(&head, &|p| p.y > -0.01, &|p| -p.z);
    let brow = most(&head, &|p| p.x.abs() < 0.012 && (0.028..0.05).contains(&p.y), &|p| p.z);
    got.insert("head length", back + brow);
    got.insert("head breadth", 2.0 * most(&head, &|p| p.y > 0.040, &|p| p.x));
    let arch = |p: Vec3| (-0.010..0.010).contains(&p.y) && (0.012..0.060).contains(&p.z);
    got.insert("bizygomatic", 2.0 * most(&head, &arch, &|p| p.x));
    let midline = |p: Vec3| p.x.abs() < 0.002;
    let root = head
        .iter()
        .filter(|p| midline(**p) && (0.010..0.034).contains(&p.y) && p.z > 0.06)
        .min_by(|a, b| a.z.total_cmp(&b.z))
        .expect("the nose has a root");
    let menton = most(&head, &|p| p.x.abs() < 0.006 && p.z > 0.062, &|p| -p.y);
    got.insert("sellion-menton", root.y + menton);
    let out = 0.068 * body.measures.bizygomatic / 0.138;
    let ear = |p: Vec3| p.x > out && (-0.018..0.006).contains(&p.z) && p.y > -0.045;
    let rim = 0.0775 * body.measures.head_breadth / 0.151;
    let top = |p: Vec3| p.x > rim && p.z < 0.006;
    got.insert("ear length", most(&head, &top, &|p| p.y) + most(&head, &ear, &|p| -p.y));
    got.insert("interpupillary", body.chart.eye(0).distance(body.chart.eye(1)));

    let m = &body.measures;
    let all: Vec<Vec3> = skin.iter().flat_map(|(_, s)| s.positions.iter().copied()).collect();
    let shoulders = |p: Vec3| (m.acromial_height - 0.16..m.acromial_height + 0.02).contains(&p.y);
    got.insert("bideltoid", 2.0 * most(&all, &shoulders, &|p| p.x));
    let trunk = [0, 2, 4];
    let (chest, _) = section(&body, &trunk, 0.722 * height, 0.0, 0.0);
    got.insert("chest breadth", 2.0 * chest[0]);
    got.insert("chest depth", chest[1] + chest[2]);
    let (waist, _) = section(&body, &trunk, 0.615 * height, 0.0, 0.0);
    got.insert("waist breadth", 2.0 * waist[0]);
    got.insert("waist depth", waist[1] + waist[2]);
    let hips =
        (0..9).map(|i| section(&body, &trunk, (0.485 + 0.008 * i as f32) * height, 0.0, 0.0).0);
    let hips: Vec<[f32; 3]> = hips.collect();
    got.insert("hip breadth", 2.0 * hips.iter().fold(0.0f32, |m, s| m.max(s[0])));
    // The buttocks' depth is off the middle, over one of them.
    let seat =
        most(&all, &|p| p.x.abs() < 0.13 && (0.46 * height..0.54 * height).contains(&p.y), &|p| {
            -p.z
        });
    let belly =
        most(&all, &|p| p.x.abs() < 0.02 && (0.50 * height..0.53 * height).contains(&p.y), &|p| {
            p.z
        });
    got.insert("buttock depth", seat + belly);
    // Square to the neck's axis, which leans forward, under the voice box.
    let neck_y = body.posed.head().shift.y - 0.108;
    got.insert("neck girth", section(&body, &[0], neck_y, -0.012, 22.0).1);
    let foot = body.posed.frame(Bone::Foot(0)).inverse();
    let toes: Vec<Vec3> = skin[4].1.positions.iter().map(|p| foot.point(*p)).collect();
    got.insert("foot length", most(&toes, &|_| true, &|p| p.z) + most(&toes, &|_| true, &|p| -p.z));
    let knee = super::marks::marks(&body);
    let knee = knee.iter().find(|k| k.name == "left_knee").expect("there is a knee");
    got.insert("mid-patella height", knee.position.y);

    // Erect on a hard seat, hands flat: sitting height and hand length.
    let skeleton = Skeleton::of(m);
    let mut angles = Angles::default();
    for leg in &mut angles.legs {
        leg.hip = Swing { flexion: 88.0, ..Swing::default() };
        leg.knee = 88.0;
    }
    let top = 0.45;
    let rise = m.sitting_height - (m.stature - m.trochanter_height) - 0.006;
    let root = Frame { turn: Mat3::IDENTITY, shift: Vec3::Y * (top + rise) };
    let ground = Ground::Seat { top, front: 0.3, half_width: 0.11, depth: 0.6 };
    let seated = Body::of(*m, &skeleton, &Stance { root, angles, notes: Vec::new() }, ground);
    let skin = seated.skin();
    let crown = most(&skin[1].1.positions, &|_| true, &|p| p.y);
    let lowest = -most(
        &skin[0].1.positions,
        &|p| p.x.abs() < 0.08 && p.z.abs() < 0.10 && p.y < top + 0.1,
        &|p| -p.y,
    );
    assert!((lowest - top).abs() < 0.002, "sits at {lowest} on a seat of {top}");
    got.insert("sitting height", crown - lowest);
    let hand = seated.posed.frame(Bone::Hand(0)).inverse();
    let fingers: Vec<Vec3> = skin[2].1.positions.iter().map(|p| hand.point(*p)).collect();
    got.insert("hand length", most(&fingers, &|_| true, &|p| -p.y));
    got
}

#[test]
fn measures_lie_in_the_published_range() {
    let mut wrong = Vec::new();
    for (height, male) in [(1.6285, 0.0), (1.7562, 1.0)] {
        let got = measured(height, male);
        for (name, women, men) in RANGES {
            let [low, high] = if male > 0.5 { men } else { women };
            let value = got[name] * 1000.0;
            if !(low..=high).contains(&value) {
                wrong.push(format!("male {male}: {name} {value:.1}, range {low} to {high}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn crown_is_at_the_written_height() {
    for (height, proportion) in [(1.55, 0.0), (1.70, 0.5), (1.85, 1.0)] {
        let body = build(&bald(height, proportion), None).expect("builds");
        let top = body.meshes.iter().flat_map(|m| &m.positions).map(|p| p.y).fold(0.0, f32::max);
        assert!((f64::from(top) - height).abs() < 0.006, "{top} for {height}");
    }
}

#[test]
fn library_poses_stay_inside_the_joints_ranges() {
    for (height, male, build) in [(1.52, 0.0, -1.0), (1.70, 0.5, 0.0), (1.88, 1.0, 1.0)] {
        let m = Proportions::of(height, build, male);
        let skeleton = Skeleton::of(&m);
        for pose in [Pose::Standing, Pose::Contrapposto, Pose::SeatedOnBox, Pose::SeatedOnFloor] {
            let ground = if pose == Pose::SeatedOnBox {
                Ground::Seat { top: 0.45, front: 0.25, half_width: 0.25, depth: 0.5 }
            } else {
                Ground::Floor
            };
            let mut solved = stance(pose, HeadTurn::default(), &m, &skeleton, ground);
            assert!(solved.notes.is_empty(), "{pose:?} at {height}: {:?}", solved.notes);
            assert!(solved.angles.hold().is_empty(), "{pose:?}");
        }
    }
}

#[test]
fn an_impossible_head_turn_is_held_with_a_warning() {
    let sitter = Sitter { head: HeadTurn { turn: 120.0, tilt: 0.0, nod: 0.0 }, ..bald(1.7, 0.5) };
    let body = build(&sitter, None).expect("builds");
    assert!(body.warnings.iter().any(|w| w.contains("head turn")), "{:?}", body.warnings);
    let face = body.marks.iter().find(|m| m.name == "face").expect("has a face");
    assert!((face.facing.x.atan2(face.facing.z).to_degrees() - 60.0).abs() < 0.5);
}

#[test]
fn head_turn_carries_the_face_mark() {
    let at = |turn: f64| {
        let sitter = Sitter { head: HeadTurn { turn, tilt: 0.0, nod: 0.0 }, ..bald(1.7, 0.5) };
        let body = build(&sitter, None).expect("builds");
        body.marks.into_iter().find(|m| m.name == "face").expect("has a face")
    };
    let (ahead, right) = (at(0.0), at(30.0));
    assert!(right.position.x > ahead.position.x + 0.03, "+ turns to camera right");
    assert!((right.facing.x - 0.5).abs() < 1e-3 && (ahead.facing.z - 1.0).abs() < 1e-3);
}

#[test]
fn feet_and_seat_touch_without_sinking() {
    let cases = [
        (Pose::Standing, None),
        (Pose::Contrapposto, None),
        (Pose::SeatedOnFloor, None),
        (Pose::SeatedOnBox, Some(crate_box(0.45))),
    ];
    for (pose, seat) in cases {
        let body = build(&Sitter { pose, ..bald(1.70, 0.5) }, seat.as_ref()).expect("builds");
        let skin = || body.meshes.iter().filter(|m| m.role == Role::Skin);
        for foot in skin().filter(|m| m.name.contains("foot")) {
            let low = foot.positions.iter().map(|p| p.y).fold(f32::MAX, f32::min);
            assert!((-0.005..0.003).contains(&low), "{pose:?}: {} at {low}", foot.name);
        }
        let Some(seat) = seat else { continue };
        let (x, z, top) = (seat.x.metres as f32, seat.z.metres as f32, seat.height.metres as f32);
        let over = skin()
            .flat_map(|m| &m.positions)
            .filter(|p| (p.x - x).abs() < 0.24 && (p.z - z).abs() < 0.24 && p.y > 0.2);
        let low = over.map(|p| p.y).fold(f32::MAX, f32::min);
        assert!((low - top).abs() < 0.003, "sits at {low} on {top}");
    }
}

#[test]
fn same_plan_same_mesh() {
    let sitter = Sitter { hair: Hair::default(), ..bald(1.7, 0.3) };
    let (a, b) = (build(&sitter, None).expect("builds"), build(&sitter, None).expect("builds"));
    for (a, b) in a.meshes.iter().zip(&b.meshes) {
        assert_eq!(a.positions, b.positions, "{}", a.name);
        assert_eq!(a.triangles, b.triangles, "{}", a.name);
    }
}

#[test]
fn meshes_are_sound() {
    let fabric = Fabric { paint: Paint::grey(0.4), finish: Finish::Matte };
    for (style, cut, wrap) in [
        (HairStyle::Cropped, Some(GarmentCut::Tunic), false),
        (HairStyle::Volume, Some(GarmentCut::Robe), false),
        (HairStyle::Bob, Some(GarmentCut::BareShoulders), false),
        (HairStyle::Bun, None, false),
        (HairStyle::Bald, None, true),
    ] {
        let sitter = Sitter {
            hair: Hair { style, ..Hair::default() },
            garment: cut.map(|cut| Garment { cut, fabric: fabric.clone() }),
            headwrap: wrap.then(|| fabric.clone()),
            ..bald(1.7, 0.5)
        };
        let body = build(&sitter, None).expect("builds");
        let mut total = 0;
        for mesh in &body.meshes {
            total += mesh.triangles.len();
            let sound = |p: &Vec3| p.is_finite() && p.length() < 4.0;
            assert!(mesh.positions.iter().all(sound), "{}", mesh.name);
            assert!(mesh.normals.iter().all(|n| (n.length() - 1.0).abs() < 1e-3), "{}", mesh.name);
            assert!(mesh.tints.is_empty() || mesh.tints.len() == mesh.positions.len());
            let mut uses: HashMap<(u32, u32), u32> = HashMap::new();
            let mut with_normals = 0;
            for t in &mesh.triangles {
                assert!(t[0] != t[1] && t[1] != t[2] && t[0] != t[2], "{}", mesh.name);
                let [a, b, c] = t.map(|i| mesh.positions[i as usize]);
                let up = (b - a).cross(c - a).dot(mesh.normals[t[0] as usize]);
                with_normals += usize::from(up >= 0.0);
                for k in 0..3 {
                    *uses.entry((t[k], t[(k + 1) % 3])).or_default() += 1;
                }
            }
            let share = with_normals as f64 / mesh.triangles.len() as f64;
            assert!(share > 0.97, "{}: {share} of the faces look out", mesh.name);
            // No edge twice the same way round: manifold.
            let twice = uses.values().filter(|n| **n > 1).count();
            assert_eq!(twice, 0, "{}: of {} edges", mesh.name, uses.len());
            let open = uses.keys().filter(|(a, b)| !uses.contains_key(&(*b, *a))).count();
            if matches!(mesh.role, Role::Eye | Role::Hair) || mesh.name == "headwrap" {
                assert_eq!(open, 0, "{} is closed", mesh.name);
            }
        }
        assert!(total < 420_000, "{total} triangles with {style:?}");
    }
}

#[test]
fn head_is_open_only_at_its_cut() {
    let body = standing_body(1.7, 0.5);
    let skin = body.skin();
    let mut uses: HashMap<(u32, u32), i32> = HashMap::new();
    for t in &skin[1].1.triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            *uses.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
        }
    }
    let inward = body.posed.head().inverse();
    for ((a, _), _) in uses.into_iter().filter(|(_, n)| *n != 0) {
        let p = inward.point(skin[1].1.positions[a as usize]);
        let off = (p - Vec3::new(0.0, -0.116, -0.01)).dot(Vec3::new(0.0, 0.94, 0.34));
        assert!(off.abs() < 1e-4, "open at {p}");
    }
}

#[test]
fn wrong_numbers_are_refused() {
    let wrong = [
        Sitter { skin: 11, ..bald(1.7, 0.5) },
        Sitter { sheen: f64::NAN, ..bald(1.7, 0.5) },
        bald(3.1, 0.5),
        bald(1.7, -0.1),
        Sitter { build: 2.0, ..bald(1.7, 0.5) },
    ];
    for sitter in wrong {
        assert!(matches!(build(&sitter, None), Err(SitterError::OutOfRange { .. })));
    }
    let seated = Sitter { pose: Pose::SeatedOnBox, ..bald(1.7, 0.5) };
    assert_eq!(build(&seated, None).err(), Some(SitterError::NoSeat));
    let hair = Hair { style: HairStyle::Bald, color: "brown".into() };
    let dyed = Sitter { hair, ..bald(1.7, 0.5) };
    assert!(matches!(build(&dyed, None), Err(SitterError::BadColor { .. })));
}
