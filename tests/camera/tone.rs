//! Contrast and black and white from the plan.

use foreshadow::optics::color::srgb_decode;
use foreshadow::picture::{Picture, Still};
use foreshadow::shoot;
use glam::Vec3;

use crate::set::{close, crate_plan};

fn developed(development: &str, pixels: &[Vec3]) -> Still {
    let plan = crate_plan("", &format!("development: ({development}),"));
    let picture = Picture { width: pixels.len() as u32, height: 1, pixels: pixels.to_vec() };
    shoot::develop_plan(&plan, &picture)
}

/// A stop under grey becomes so many stops under; grey stays.
#[test]
fn contrast_is_in_stops_about_grey() {
    let greys = [0.18, 0.09, 0.045].map(Vec3::splat);
    for (contrast, under) in [("1.0", 1.0), ("1.5", 1.5), ("0.6", 0.6)] {
        let still = developed(&format!("contrast: {contrast}"), &greys);
        let linear = still.pixels.iter().map(|p| f64::from(srgb_decode(p.y)));
        let stops: Vec<f64> = linear.map(|level| (level / 0.18).log2()).collect();
        for (at, wanted) in stops.iter().zip([0.0, -under, -2.0 * under]) {
            assert!((at - wanted).abs() < 1e-3, "{contrast}: {at} and {wanted}");
        }
    }
    // colours keep their proportions
    let orange = Vec3::new(0.1, 0.05, 0.02);
    let shown = developed("contrast: 1.4", &[orange]).pixels[0];
    let ratio = srgb_decode(shown.x) / srgb_decode(shown.y);
    close(ratio.into(), 2.0, 1e-3);
}

#[test]
fn black_and_white_by_the_channels_asked_for() {
    let colours = [Vec3::splat(0.18), Vec3::new(0.2, 0.05, 0.05), Vec3::new(0.05, 0.05, 0.2)];
    let grey = |mix: &str| {
        let still = developed(&format!("monochrome: ({mix})"), &colours);
        assert!(still.pixels.iter().all(|p| p.x == p.y && p.y == p.z), "{mix}");
        still.pixels.iter().map(|p| f64::from(srgb_decode(p.y))).collect::<Vec<_>>()
    };
    for mix in ["", "red: 1, green: 0, blue: 0", "red: 3, green: 2, blue: -2"] {
        close(grey(mix)[0], 0.18, 1e-4);
    }
    let plain = grey("");
    close(plain[1], 0.2126 * 0.2 + 0.7874 * 0.05, 1e-3);
    // a red filter lightens red and darkens blue
    let red = grey("red: 1, green: 0, blue: 0");
    assert!(red[1] > plain[1] && red[2] < plain[2]);
    assert!(grey("red: 3, green: 2, blue: -2")[2] < red[2]);
}

#[test]
fn the_straight_curve_and_the_hatching_are_the_plans() {
    let pixels = [Vec3::splat(0.5), Vec3::splat(3.0), Vec3::splat(0.0)];
    let straight = developed("tone: Straight", &pixels);
    close(srgb_decode(straight.pixels[0].y).into(), 0.5, 1e-4);
    let plain = developed("", &pixels);
    assert!(plain.pixels[1].min_element() > 0.9999 && plain.pixels[2] == Vec3::ZERO);
    let wide = vec![Vec3::splat(3.0); 24];
    let hatched = developed("clipping: true", &wide);
    assert!(hatched.pixels.iter().any(|p| p.x > 2.0 * p.z));
    assert!(hatched.pixels.iter().any(|p| p.min_element() > 0.9999));
}
