//! Shutter and flash: within sync only the room's light changes, beyond it a band is dark, with
//! high-speed sync the flash pays.

use foreshadow::optics::shutter::Curtains;
use foreshadow::plan::Plan;
use glam::Vec3;

use crate::set::{alone, close, crate_plan, rendered, sum, taken};

const SYNC: &str = "sync: \"1/200\", flare: 0,";

fn plan(camera: &str) -> Plan {
    crate_plan(&format!("{SYNC} {camera}"), "")
}

#[test]
fn within_sync_only_the_room_changes_and_by_its_stops() {
    let before = plan("shutter: \"1/60\",");
    let (stage, layers) = rendered(&before, (24, 36), 4);
    let (flash, room) = (alone(&layers, "key"), alone(&layers, "ambient"));
    let first = (taken(&before, &stage, &flash), taken(&before, &stage, &room));
    assert!(sum(&first.0) > 0.0 && sum(&first.1) > 0.0);
    for (shutter, seconds) in [("1/125", 1.0 / 125.0), ("1/200", 1.0 / 200.0), ("1/4", 0.25)] {
        let after = plan(&format!("shutter: \"{shutter}\","));
        assert_eq!(taken(&after, &stage, &flash), first.0, "{shutter}: the flash");
        let ratio = seconds * 60.0;
        for (a, b) in taken(&after, &stage, &room).pixels.iter().zip(&first.1.pixels) {
            let off = (*a - *b * ratio as f32).abs().max_element();
            assert!(off <= 2e-6 * a.max_element(), "{shutter}: {a} and {b}");
        }
    }
}

/// Held level the band grows from the bottom, upright with the grip up from the right; where it
/// lies follows from t, tc and τ alone: dark to 1 − t/tc, all there from (tc + τ − t)/tc.
#[test]
fn beyond_sync_the_band_is_where_the_curtains_are() {
    for (upright, size) in [(false, (48, 32)), (true, (32, 48))] {
        let held = format!("upright: {upright}, curtain: \"1/250\",");
        let open = plan(&format!("{held} shutter: \"1/200\","));
        let cut = plan(&format!("{held} shutter: \"1/400\","));
        let (stage, layers) = rendered(&open, size, 2);
        let (flash, room) = (alone(&layers, "key"), alone(&layers, "ambient"));
        // tc 4 ms, τ 1 ms, t 2.5 ms: dark to 0.375, all there from 0.625
        let band = Curtains::new(0.0025, 0.005, Some(0.004)).band();
        close(band[0], 0.375, 1e-9);
        close(band[1], 0.625, 1e-9);
        let (whole, banded) = (taken(&open, &stage, &flash), taken(&cut, &stage, &flash));
        let (mut dark, mut full, mut partly) = (0, 0, 0);
        for (i, (whole, banded)) in whole.pixels.iter().zip(&banded.pixels).enumerate() {
            let (column, row) = (i as u32 % size.0, i as u32 / size.0);
            let from = match upright {
                false => 1.0 - (f64::from(row) + 0.5) / f64::from(size.1),
                true => 1.0 - (f64::from(column) + 0.5) / f64::from(size.0),
            };
            let share = ((from - band[0]) / (band[1] - band[0])).clamp(0.0, 1.0);
            let off = (*banded - *whole * share as f32).abs().max_element();
            assert!(off <= 1e-5 * whole.max_element(), "at {from}: {banded} of {whole}");
            match share {
                0.0 => dark += 1,
                1.0 => full += 1,
                _ => partly += 1,
            }
        }
        assert!(dark > 400 && full > 400 && partly > 200, "{dark} {full} {partly}");
        // the room's light knows nothing of the band, and half the time is a stop
        let (long, short) = (taken(&open, &stage, &room), taken(&cut, &stage, &room));
        for (long, short) in long.pixels.iter().zip(&short.pixels) {
            assert!((*short - *long * 0.5).abs().max_element() <= 1e-6 * long.max_element());
        }
    }
}

/// A crop of the sensor shows the band where the whole frame would.
#[test]
fn a_crop_shows_its_part_of_the_band() {
    let cut = plan("upright: false, curtain: \"1/200\", shutter: \"1/400\",");
    let open = plan("upright: false, curtain: \"1/200\", shutter: \"1/200\",");
    // 36 × 24 cropped to 6:1 keeps the middle quarter of the height: the edge at half of it stays
    let (stage, layers) = rendered(&open, (96, 16), 2);
    let flash = alone(&layers, "key");
    let (open, cut) = (taken(&open, &stage, &flash), taken(&cut, &stage, &flash));
    let rows = |rows: std::ops::Range<usize>| rows.start * 96..rows.end * 96;
    assert_eq!(cut.pixels[rows(0..8)], open.pixels[rows(0..8)]);
    assert!(cut.pixels[rows(8..16)].iter().all(|pixel| *pixel == Vec3::ZERO));
    // the middle of such a crop is open when the whole frame's lower third is not
    let mild = plan("upright: false, curtain: \"1/200\", shutter: \"1/300\",");
    assert_eq!(taken(&mild, &stage, &flash), open);
}

/// log2((tc + t)/t) and the pulsing's own loss, the same all over the frame.
#[test]
fn high_speed_sync_costs_flash_and_draws_no_band() {
    let open = plan("shutter: \"1/200\",");
    let fast = plan("high_speed_sync: true, curtain: \"1/300\", shutter: \"1/1000\",");
    let (stage, layers) = rendered(&open, (24, 36), 2);
    let flash = alone(&layers, "key");
    let (open, fast) = (taken(&open, &stage, &flash), taken(&fast, &stage, &flash));
    let share = 0.001 / (1.0 / 300.0 + 0.001) * (-1.3f64).exp2();
    for (open, fast) in open.pixels.iter().zip(&fast.pixels) {
        assert!((*fast - *open * share as f32).abs().max_element() <= 1e-5 * open.max_element());
    }
    close(sum(&fast) / sum(&open), share, 1e-5);
}
