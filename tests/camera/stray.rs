//! Light that shines into the lens: how much, the veil it makes, and the flag that cuts it.

use foreshadow::picture::Stray;
use foreshadow::plan::Plan;
use foreshadow::shoot;
use foreshadow::stage;
use glam::Vec3;

use crate::set::{close, parse, rendered, taken};

/// A head behind the mark that looks past a black block at the camera; a flag may stand between.
fn plan(flag: bool, camera: &str) -> Plan {
    let boards = match flag {
        true => {
            "boards: [(name: \"flag\", kind: Flag, width: 0.4, height: 0.4, \
             place: At(x: 0.3, y: 1.8, z: 2.1), aim: Point(x: 0.9, y: 2.1, z: -1))],"
        }
        false => "",
    };
    parse(&format!(
        r#"(
            format: 1,
            room: (width: 6, depth: 8, height: 3.2, walls: (reflectance: 0),
                   ceiling: (reflectance: 0), floor: (reflectance: 0)),
            boxes: [(name: "block", width: 0.4, height: 1.5, depth: 0.4,
                     paint: (reflectance: 0.01))],
            lights: [(
                name: "rim",
                head: (output: GuideNumber(32)),
                modifier: Dish(diameter: 0.12, beam: 60, field: 100),
                place: At(x: 1.2, y: 2.2, z: -1.4),
                aim: Point(x: 0, y: 1.5, z: 3),
            )],
            {boards}
            camera: (
                {camera}
                place: At(x: 0, y: 1.5, z: 3), aim: Point(x: 0, y: 1.5, z: 0),
                focus: Point(x: 0, y: 1.5, z: 0.2),
            ),
        )"#
    ))
}

fn stray(plan: &Plan) -> Vec<Stray> {
    let stage = stage::build(plan).unwrap();
    shoot::rays(plan, &stage, &["rim".into()]).stray
}

/// E = I·cos θ/d² across the lens's axis, I = 250·GN²/100, from where the head stands.
#[test]
fn the_light_on_the_lens_is_that_of_the_head() {
    let found = stray(&plan(false, ""));
    let [one] = found.as_slice() else { panic!("{found:?}") };
    let span = Vec3::new(1.2, 0.7, -4.4);
    let wanted = 2560.0 / f64::from(span.length_squared()) * f64::from(4.4 / span.length());
    close(one.on_lens, wanted, 0.01);
    close(one.tangents.x.into(), 1.2 / 4.4, 0.01);
    close(one.tangents.y.into(), 0.7 / 4.4, 0.01);
}

#[test]
fn a_flag_keeps_the_lens_dark() {
    assert_eq!(stray(&plan(true, "")), []);
    // a perfect lens has nothing to stray, and no ray is spent on it
    assert_eq!(stray(&plan(false, "flare: 0,")), []);
}

/// The veil L = g·E/π lies over all of the picture, ghosts over parts of it; the flag takes both.
#[test]
fn the_picture_is_veiled_until_a_flag_is_set() {
    let dark = |flag: bool, camera: &str| {
        let plan = plan(flag, camera);
        let (stage, layers) = rendered(&plan, (32, 48), 2);
        let names = ["rim".to_owned()];
        let factor = shoot::mix(&plan, &stage, &names).factors(&layers).unwrap()[0];
        let levels: Vec<f64> =
            taken(&plan, &stage, &layers).pixels.iter().map(|p| f64::from(p.y)).collect();
        let bare: Vec<f64> =
            layers.layers[0].pixels.iter().map(|p| f64::from(p.y * factor.y)).collect();
        let added: Vec<f64> = levels.iter().zip(&bare).map(|(all, bare)| all - bare).collect();
        (added, f64::from(factor.y))
    };
    let (veiled, factor) = dark(false, "flare: 0.01,");
    let least = veiled.iter().copied().fold(f64::MAX, f64::min);
    let on_lens = stray(&plan(false, ""))[0].on_lens;
    close(least, factor * 0.01 * on_lens / std::f64::consts::PI, 1e-3);
    let most = veiled.iter().copied().fold(0.0, f64::max);
    assert!(most > 1.05 * least, "no ghost: {least} to {most}");
    let (half, _) = dark(false, "flare: 0.005,");
    close(half.iter().copied().fold(f64::MAX, f64::min), 0.5 * least, 1e-3);
    assert!(dark(true, "flare: 0.01,").0.iter().all(|added| added.abs() < 1e-9 * least.max(1.0)));
}
