//! Photometric files as lights: the far field of what is rendered is the file's.

use foreshadow::optics::photometric;
use foreshadow::stage::source::Emitter;
use glam::{DVec3, Vec3};

use crate::planned::{Range, built_in, light};
use crate::set::close;

/// A smooth luminaire without symmetry that lights up and down: candela at (γ, C) degrees.
fn candela(gamma: f64, c: f64) -> f64 {
    let (g, c) = (gamma.to_radians(), c.to_radians());
    let down = 900.0 * g.cos().max(0.0).powf(1.5) * (1.0 + 0.45 * (c - 0.6).cos() * g.sin());
    let up = 260.0 * (-g.cos()).max(0.0) * (1.0 - 0.3 * (2.0 * c).cos() * g.sin());
    down + up
}

/// The same as an IES file of 5° by 15°.
fn lm63() -> String {
    let gammas: Vec<f64> = (0..=36).map(|k| 5.0 * f64::from(k)).collect();
    let planes: Vec<f64> = (0..=24).map(|k| 15.0 * f64::from(k)).collect();
    let row = |values: Vec<f64>| {
        let words: Vec<String> = values.iter().map(|v| format!("{v:.4}")).collect();
        words.chunks(8).map(|line| line.join(" ") + "\r\n").collect::<String>()
    };
    let mut text =
        String::from("IESNA:LM-63-2002\r\n[TEST] none\r\n[LUMCAT] smooth\r\nTILT=NONE\r\n");
    text += "1 -1 1 37 25 1 2 -0.10 -0.10 0\r\n1 1 25\r\n";
    text += &row(gammas.clone());
    text += &row(planes.clone());
    for c in planes {
        text += &row(gammas.iter().map(|g| candela(*g, c)).collect());
    }
    text
}

#[test]
fn the_far_field_is_the_files() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("lamp.ies"), lm63()).unwrap();
    let fields = "modifier: Photometric(file: \"lamp.ies\"), head: (output: AsFiled)";
    let stage = built_in(fields, folder.path());
    let file = photometric::parse(&lm63()).unwrap();
    close(f64::from(Emitter::of(light(&stage)).flux()), file.lumens(), 0.002);
    let range = Range::new(&stage);
    for k in 0..50 {
        // evenly over the sphere but for a few degrees about the plane of the opening
        let z = 1.0 - 2.0 * (f64::from(k) + 0.5) / 50.0;
        if z.abs() < 0.06 {
            continue;
        }
        let azimuth = 137.507_764 * f64::from(k);
        let (theta, phi) = (z.acos(), azimuth.to_radians());
        let toward = DVec3::new(theta.sin() * phi.cos(), theta.sin() * phi.sin(), theta.cos());
        close(range.intensity(theta.to_degrees(), azimuth), file.toward(toward), 0.01);
    }
}

/// Power, filters and a reading of one's own work on it as on any light.
#[test]
fn a_file_takes_the_level_of_a_head() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("lamp.ies"), lm63()).unwrap();
    let file = photometric::parse(&lm63()).unwrap();
    let modifier = "modifier: Photometric(file: \"lamp.ies\", loss: 1)";
    let on_axis = |output: &str| {
        let stage = built_in(&format!("{modifier}, head: (output: {output})"), folder.path());
        Range::new(&stage).intensity(0.0, 0.0)
    };
    let per_lumen = file.toward(DVec3::Z) / file.lumens();
    close(on_axis("Lumens(10000)"), 5000.0 * per_lumen, 0.01);
    close(on_axis("GuideNumber(36)"), 3240.0, 0.01);
    close(on_axis("Lux(lux: 500, distance: 2)"), 2000.0, 0.01);
    close(on_axis("AsFiled"), file.toward(DVec3::Z), 0.01);
    let stage = built_in(&format!("{modifier}, head: (output: AsFiled)"), folder.path());
    assert_eq!(light(&stage).also.len(), 1, "one front each way");
    assert!(light(&stage).also[0].axis.dot(Vec3::Z) < 0.0);
}
