//! Photographers' cases that arithmetic answers, each by its id. They call the library; the
//! expected figures are the published or derived ones of the case.

use foreshadow::optics::{color, exposure, fstop, geometry, lens};
use glam::DVec3;

const FOOT_M: f64 = 0.3048;

#[track_caller]
fn within(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{got}, expected {expected} ± {tolerance}");
}

#[track_caller]
fn within_stops(got_f_number: f64, expected_f_number: f64, stops: f64) {
    let off = exposure::stops_between(expected_f_number, got_f_number);
    assert!(off.abs() <= stops, "f/{got_f_number}, expected f/{expected_f_number}: {off} stops");
}

#[test]
fn d01_backdrop_at_twice_the_distance() {
    within(exposure::background_stops(1.2, 1.2), -2.0, 0.1);
}

#[test]
fn d02_wall_behind_the_subject() {
    for (feet, stops) in [(12.0, -1.17), (6.0, -2.0), (1.0, -5.61)] {
        within(exposure::background_stops(feet * FOOT_M, 6.0 * FOOT_M), stops, 0.1);
    }
}

#[test]
fn d04_one_step_of_distance_is_one_stop() {
    within(exposure::inverse_square_stops(2.8, 2.0), 0.97, 0.1);
}

#[test]
fn d07_full_length_evenness() {
    let to = |height: f64| 1.5f64.hypot(2.4 - height);
    within(exposure::inverse_square_stops(to(1.6), to(0.1)), -1.38, 0.15);
}

#[test]
fn p01_guide_number() {
    within_stops(exposure::f_number_at_distance(32.0, 4.0), 8.0, 1.0 / 6.0);
}

#[test]
fn p04_guide_number_and_power() {
    let one = exposure::guide_number_at(64.0, 100.0, -6.0);
    within(one, 8.0, 0.16);
    let two = exposure::combined_power_stops(&[-6.0, -6.0]);
    within(two, -5.0, 1e-12);
    within(exposure::guide_number_at(64.0, 100.0, two), 11.3, 0.23);
}

#[test]
fn p06_adding_units() {
    within(exposure::combined_power_stops(&[-2.0, -3.0, -3.0]), -1.0, 0.1);
}

#[test]
fn p07_guide_number_at_iso_50() {
    let guide = exposure::guide_number_at(60.0, 50.0, 0.0);
    within_stops(exposure::f_number_at_distance(guide, 4.0), 10.6, 1.0 / 6.0);
}

#[test]
fn p10_modifier_losses_from_readings() {
    let bare = fstop::parse("f/16+0.3").unwrap();
    for (reading, loss) in [("f/8+0.1", 2.2), ("f/8+0.4", 1.9), ("f/5.6", 3.3), ("f/11+0.4", 0.9)] {
        let with = fstop::parse(reading).unwrap();
        within(exposure::stops_between(with, bare), loss, 0.3);
    }
}

#[test]
fn p13_too_much_light_wide_open() {
    let guide = exposure::guide_number_at(60.0, 50.0, 0.0);
    let full = exposure::f_number_at_distance(guide, 1.2);
    within_stops(full, 35.4, 0.2);
    let over = exposure::stops_between(1.2, full);
    within(over, 9.76, 0.2);
    // At 1/256 power.
    let lowest = exposure::f_number_at_distance(exposure::guide_number_at(60.0, 50.0, -8.0), 1.2);
    within(exposure::stops_between(1.2, lowest), 1.76, 0.2);
}

#[test]
fn r01_ratio_of_two_readings() {
    let stops = exposure::stops_between(fstop::parse("f/5.6").unwrap(), 8.0);
    within(exposure::key_to_fill(stops), 2.0, 0.2);
    within(exposure::lit_to_shadow(stops), 3.0, 0.3);
}

#[test]
fn r02_ratio_by_distance() {
    for (key_ft, ratio) in [(8.0, 2.89), (5.6, 4.86)] {
        let stops = exposure::inverse_square_stops(11.0, key_ft);
        within(exposure::lit_to_shadow(stops), ratio, 0.05 * ratio);
    }
}

#[test]
fn r04_sum_of_lights() {
    within_stops(exposure::combined_f_number(&[5.6, 5.6]), 7.9, 1.0 / 6.0);
    within_stops(exposure::combined_f_number(&[5.6; 4]), 11.0, 1.0 / 6.0);
    let two = exposure::combined_f_number(&[5.6, 5.6]);
    assert_eq!(fstop::marked(two), "f/8");
}

#[test]
fn a01_the_room_falls_away() {
    let setting = exposure::Exposure { iso: 100.0, f_number: 8.0, shutter_s: 1.0 / 125.0 };
    within(setting.ev100(), 12.97, 0.01);
    for (room_ev, under) in [(5.0, 8.0), (7.0, 6.0)] {
        let lux = exposure::lux_from_ev100(room_ev, 250.0);
        within(setting.stops_over(lux * setting.shutter_s, 250.0), -under, 0.3);
    }
}

#[test]
fn a02_the_room_stays_wide_open() {
    let setting = exposure::Exposure { iso: 50.0, f_number: 1.2, shutter_s: 1.0 / 200.0 };
    for (room_ev, under) in [(5.0, 4.2), (7.0, 2.2)] {
        let lux = exposure::lux_from_ev100(room_ev, 250.0);
        within(setting.stops_over(lux * setting.shutter_s, 250.0), -under, 0.3);
    }
}

#[test]
fn a04_shutter_moves_ambient_only() {
    let slow = exposure::Exposure { iso: 100.0, f_number: 8.0, shutter_s: 1.0 / 60.0 };
    let fast = exposure::Exposure { shutter_s: 1.0 / 250.0, ..slow };
    let change = fast.linear_from_steady(100.0) / slow.linear_from_steady(100.0);
    within(change.log2(), -2.06, 0.1);
    assert_eq!(fast.linear_from_flash(10.0), slow.linear_from_flash(10.0));
}

#[test]
fn a05_neutral_density_keeps_the_balance() {
    for (nd_stops, aperture) in [(3.0, 5.6), (6.0, 2.0)] {
        within_stops(exposure::opened(16.0, nd_stops), aperture, 1.0 / 6.0);
    }
    // Density 0.9 is three stops; it takes flash and ambient alike, so their ratio stands.
    within(exposure::density_stops(0.9), 3.0, 0.02);
    let open = exposure::Exposure { iso: 100.0, f_number: 16.0, shutter_s: 1.0 / 200.0 };
    let filtered = exposure::Exposure { f_number: exposure::opened(16.0, 3.0), ..open };
    let balance = |setting: exposure::Exposure| {
        setting.linear_from_flash(10.0) / setting.linear_from_steady(300.0)
    };
    within((balance(filtered) / balance(open)).log2(), 0.0, 1e-12);
}

#[test]
fn a07_high_speed_sync_costs() {
    let total = exposure::stops_between(3.5, 8.0);
    within(total, 2.39, 0.01);
    let shutter = exposure::time_value(1.0 / 320.0) - exposure::time_value(1.0 / 250.0);
    within(shutter, 0.36, 0.01);
    within(total - shutter, 2.03, 0.01);
    // The model with its assumed pulse loss, for a curtain of 1/300 s.
    let model =
        exposure::high_speed_sync_loss_stops(1.0 / 320.0, 1.0 / 300.0, exposure::PULSE_LOSS_STOPS);
    within(model, 2.39, 0.5);
}

#[test]
fn b01_ceiling_path_as_in_a_mirror() {
    for (away, head_deg, path) in [(3.0, 45.0, 4.24), (6.0, 26.6, 6.71)] {
        let bounce = geometry::mirror_bounce(1.5, away);
        within(bounce.head_rad.to_degrees(), head_deg, 0.02 * head_deg);
        within(bounce.path_m, path, 0.02 * path);
    }
}

#[test]
fn t02_mired_shift() {
    within(color::mired_shift(5500.0, 3200.0), 131.0, 0.05 * 131.0);
}

#[test]
fn m01_camera_room() {
    within(lens::distance_to_fill_mm(85.0, 2000.0, 36.0) / 1000.0, 4.81, 0.03 * 4.81);
}

#[test]
fn f01_depth_of_field() {
    let depth = lens::depth_of_field(85.0, 1.2, 0.03, 12.0 * FOOT_M * 1000.0);
    let inches = (depth.far_mm - depth.near_mm) / 25.4;
    within(inches, 5.1, 0.12 * 5.1);
}

#[test]
fn k04_creases_against_depth_of_field() {
    for (f_number, smear) in [(1.2, 42.5), (8.0, 6.4)] {
        within(lens::smear_mm(85.0, f_number, 2500.0, 4000.0), smear, 0.1 * smear);
    }
}

#[test]
fn g01_grid_spot_size() {
    for (deg, diameter) in [(10.0f64, 0.35), (20.0, 0.71), (30.0, 1.07)] {
        let spot = geometry::spot_diameter_m(deg.to_radians(), 2.0);
        within(spot, diameter, 0.15 * diameter);
    }
}

#[test]
fn g03_rim_light_and_the_lens() {
    let head = DVec3::new(0.0, 1.6, 0.0);
    let camera = DVec3::new(0.0, 1.5, 3.0);
    let light = DVec3::new(1.0, 2.2, -1.2);
    let off_axis = geometry::angle_between_rad(light, head, camera).to_degrees();
    within(off_axis, 28.0, 1.0);
    // A 20° grid spares the lens, an open dish of 30° half angle does not.
    assert!(off_axis > 20.0 && off_axis < 30.0);
}

#[test]
fn s07_two_edges_of_a_tube_in_its_dish() {
    within(geometry::penumbra_m(0.04, 2.0, 0.5), 0.01, 0.25 * 0.01);
    within(geometry::penumbra_m(0.18, 2.0, 0.5), 0.045, 0.25 * 0.045);
}

#[test]
fn j02_is_the_flash_strong_enough() {
    let guide = exposure::guide_number_at(60.0, 100.0, -2.5);
    let reading = exposure::f_number_at_distance(guide, 3.0);
    within_stops(reading, 8.4, 0.2);
    let short = exposure::stops_between(reading, 11.0);
    within(short, 0.78, 0.2);
    // The distance whose f/11 this guide number is, and the ISO that makes up the difference.
    let works_m = guide / 11.0;
    within(exposure::inverse_square_stops(2.29, works_m), 0.0, 0.2);
    within((100.0 * short.exp2() / 171.0).log2(), 0.0, 0.2);
}
