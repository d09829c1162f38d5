//! A sheet's JSON re-enters as a plan whose stage is the same within 5 mm.

use foreshadow::papers::sheet::Units;
use foreshadow::plan::{ClothShape, Length, Mark, Place, Plan, Target};
use foreshadow::stage::{self, Stage};
use serde_json::Value;

use super::{record, shipped_plan};

const WITHIN_M: f32 = 0.005;

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} is no number in {value}"))
}

fn length(value: &Value, key: &str) -> Length {
    Length::metres(number(value, key))
}

fn place(spot: &Value) -> Place {
    Place::Stand {
        azimuth: number(spot, "azimuth_deg"),
        distance: length(spot, "floor_distance_m"),
        height: length(spot, "height_m"),
    }
}

fn aim(aim: &Value) -> Target {
    Target::Toward { azimuth: number(aim, "azimuth_deg"), tilt: number(aim, "tilt_deg") }
}

fn named<'a>(list: &'a Value, name: &str) -> &'a Value {
    let list = list.as_array().expect("a list");
    list.iter().find(|one| one["name"] == name).unwrap_or_else(|| panic!("no {name}"))
}

/// The plan with every place, aim and measure taken from the sheet alone.
fn re_entered(plan: &Plan, sheet: &Value) -> Plan {
    let mut plan = plan.clone();
    let room = &sheet["room"];
    plan.room.width = Length::metres(number(room, "left_m") + number(room, "right_m"));
    plan.room.depth = Length::metres(number(room, "back_m") + number(room, "front_m"));
    plan.room.height = length(room, "height_m");
    plan.room.mark =
        Some(Mark { from_left: length(room, "left_m"), from_back: length(room, "back_m") });
    for light in &mut plan.lights {
        let row = named(&sheet["lights"], &light.name);
        light.place = place(&row["spot"]);
        light.aim = aim(&row["aim"]);
        light.power.stops = number(row, "power_stops");
        light.head.energy_ws = number(row, "full_energy_ws");
    }
    for board in &mut plan.boards {
        let row = named(&sheet["boards"], &board.name);
        board.place = place(&row["spot"]);
        board.aim = aim(&row["aim"]);
        (board.width, board.height) = (length(row, "width_m"), length(row, "height_m"));
        board.roll = number(row, "roll_deg");
    }
    for one in &mut plan.boxes {
        let m = &named(&sheet["boxes"], &one.name)["measures"];
        (one.width, one.height, one.depth) =
            (length(m, "width_m"), length(m, "height_m"), length(m, "depth_m"));
        (one.x, one.z, one.base) = (length(m, "x_m"), length(m, "z_m"), length(m, "base_m"));
        one.turn = number(m, "turn_deg");
    }
    for cloth in &mut plan.cloths {
        let m = &named(&sheet["cloths"], &cloth.name)["measures"];
        (cloth.creases, cloth.folds) = (number(m, "creases"), number(m, "folds"));
        cloth.seed = number(m, "seed") as u64;
        match &mut cloth.shape {
            ClothShape::Backdrop { width, top, behind, x, turn, sweep } => {
                (*width, *top, *behind) =
                    (length(m, "width_m"), length(m, "top_m"), length(m, "behind_m"));
                (*x, *sweep, *turn) =
                    (length(m, "x_m"), length(m, "sweep_m"), number(m, "turn_deg"));
            }
            ClothShape::Floor { width, depth, x, z, turn } => {
                (*width, *depth) = (length(m, "width_m"), length(m, "depth_m"));
                (*x, *z, *turn) = (length(m, "x_m"), length(m, "z_m"), number(m, "turn_deg"));
            }
            ClothShape::Over { overhang, .. } => *overhang = length(m, "overhang_m"),
            ClothShape::Drapery { width, top, drop, x, z, turn } => {
                (*width, *top, *drop) =
                    (length(m, "width_m"), length(m, "top_m"), length(m, "drop_m"));
                (*x, *z, *turn) = (length(m, "x_m"), length(m, "z_m"), number(m, "turn_deg"));
            }
        }
    }
    if let Some(sitter) = &mut plan.sitter {
        let row = &sheet["sitter"];
        (sitter.x, sitter.z, sitter.height) =
            (length(row, "x_m"), length(row, "z_m"), length(row, "height_m"));
        (sitter.turn, sitter.head.turn) = (number(row, "turn_deg"), number(row, "head_turn_deg"));
    }
    let camera = &sheet["camera"];
    plan.camera.place = place(&camera["spot"]);
    plan.camera.aim = aim(&camera["aim"]);
    plan.camera.focal_mm = number(camera, "focal_mm");
    plan.camera.aperture.f_number = number(camera, "aperture");
    plan.camera.shutter.seconds = number(camera, "shutter_s");
    plan
}

/// How far the things of two stages are apart at most, and which is.
fn farthest(a: &Stage, b: &Stage) -> (f32, String) {
    assert_eq!(a.meshes.len(), b.meshes.len());
    let mut worst = (0.0, String::new());
    let mut note = |off: f32, what: &str| {
        if off > worst.0 {
            worst = (off, what.to_owned());
        }
    };
    for (one, other) in a.meshes.iter().zip(&b.meshes) {
        assert_eq!((&one.name, one.positions.len()), (&other.name, other.positions.len()));
        for (p, q) in one.positions.iter().zip(&other.positions) {
            note(p.distance(*q), &one.name);
        }
    }
    for (one, other) in a.lights.iter().zip(&b.lights) {
        note(one.source.position.distance(other.source.position), &one.name);
        // what an axis that is off moves at 3 m
        note(3.0 * one.source.axis.distance(other.source.axis), &format!("{}'s aim", one.name));
    }
    for (one, other) in a.marks.iter().zip(&b.marks) {
        note(one.position.distance(other.position), &one.name);
    }
    note(a.camera.position.distance(b.camera.position), "camera");
    note(3.0 * a.camera.forward.distance(b.camera.forward), "camera's aim");
    note((a.camera.focus_m - b.camera.focus_m).abs() as f32, "focus");
    worst
}

#[test]
fn sheets_re_enter_as_plans() {
    for name in ["lamplighter", "quarryman", "night-ferry", "attic"] {
        let plan = shipped_plan(name);
        let stage = stage::build(&plan).unwrap();
        let sheet = serde_json::to_value(record(&plan, &stage, Units::Metres)).unwrap();
        let again = re_entered(&plan, &sheet);
        let (off, what) = farthest(&stage, &stage::build(&again).unwrap());
        assert!(off <= WITHIN_M, "{name}: {what} is {:.1} mm off", off * 1e3);

        // a centimetre too much on one tape is no longer the same stage
        let mut moved = sheet.clone();
        let distance = number(&sheet["lights"][0]["spot"], "floor_distance_m");
        moved["lights"][0]["spot"]["floor_distance_m"] = (distance + 0.01).into();
        let (off, _) = farthest(&stage, &stage::build(&re_entered(&plan, &moved)).unwrap());
        assert!(off > WITHIN_M, "{name}: a moved head was not noticed");

        // both tapes meet where the head stands
        for light in sheet["lights"].as_array().unwrap() {
            let (x, z) = (number(&light["spot"], "x_m"), number(&light["spot"], "z_m"));
            for (tape, point) in light["spot"]["tapes_m"]
                .as_array()
                .unwrap()
                .iter()
                .zip(sheet["tape"].as_array().unwrap())
            {
                let off = (x - number(point, "x_m")).hypot(z - number(point, "z_m"));
                assert!((off - tape.as_f64().unwrap()).abs() < 1e-3, "{name}: {light}");
            }
        }
    }
}
