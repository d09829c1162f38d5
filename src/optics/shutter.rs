//! A focal-plane shutter and a flash: which part of the frame the flash still finds open.
//!
//! ```text
//!   place   first curtain opens here at y·tc, the second covers it at t + y·tc
//!   y = 1 ┤        ／        ／        y: 0 at the edge that is covered first, 1 at the last
//!         │      ／        ／
//!   y = 0 ┼───／────────／─────► time
//!         0    └ tc ┘   t
//!                   ▓▓▓ the pulse, of length τ, once the whole frame is open at tc
//! ```
//! Fully lit while t ≥ tc + τ: that is the sync time. Beyond it the second curtain has already
//! covered y < 1 − t/tc when the flash fires, and goes on for the length of the pulse.

/// Share of the sync time that the curtains travel where a camera's figure is not known; the rest
/// is the pulse (common practice, no source: 3.2 ms for 1/250 s; makers' figures lie about 3 ms).
pub const TRAVEL_OF_SYNC: f64 = 0.8;

/// A shutter time with the curtains' travel and the flash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curtains {
    /// Time t that each place of the frame is open, seconds.
    pub shutter_s: f64,
    /// Time tc a curtain takes over the frame, seconds.
    pub travel_s: f64,
    /// Length τ of the flash's pulse, taken as even, seconds.
    pub pulse_s: f64,
}

impl Curtains {
    /// Of a camera that states its sync time tc + τ and perhaps its curtains' travel.
    pub fn new(shutter_s: f64, sync_s: f64, travel_s: Option<f64>) -> Self {
        let travel_s = travel_s.unwrap_or(TRAVEL_OF_SYNC * sync_s).min(sync_s);
        Self { shutter_s, travel_s, pulse_s: sync_s - travel_s }
    }

    /// Share of the flash that reaches the place `y`, 0 at the edge that is covered first.
    pub fn lit(&self, y: f64) -> f64 {
        // time from the firing to the covering of the place
        let open_s = self.shutter_s + (y - 1.0) * self.travel_s;
        if self.pulse_s > 1e-9 {
            (open_s / self.pulse_s).clamp(0.0, 1.0)
        } else {
            f64::from(u8::from(open_s >= -1e-12))
        }
    }

    /// Where the band is dark to, and from where on all of the flash arrives, as shares of the
    /// frame; both 0 within sync.
    pub fn band(&self) -> [f64; 2] {
        let at = |open_s: f64| (1.0 + (open_s - self.shutter_s) / self.travel_s).clamp(0.0, 1.0);
        // engraved times are rounded: a thousandth of the pulse is no band
        if self.shutter_s >= self.travel_s + 0.999 * self.pulse_s {
            return [0.0; 2];
        }
        [at(0.0), at(self.pulse_s)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn within_sync_the_whole_frame_is_lit() {
        for shutter_s in [1.0 / 250.0, 1.0 / 125.0, 1.0] {
            let curtains = Curtains::new(shutter_s, 1.0 / 250.0, None);
            assert_eq!(curtains.band(), [0.0; 2]);
            assert!((0..=10).all(|i| curtains.lit(f64::from(i) / 10.0) > 1.0 - 1e-9));
        }
    }

    /// By hand: sync 5 ms, travel 4 ms, pulse 1 ms, shutter 2.5 ms. At the firing the second
    /// curtain has gone 1.5 of 4 ms, at the pulse's end 2.5 of 4.
    #[test]
    fn beyond_sync_a_band_is_dark() {
        let curtains = Curtains::new(0.0025, 0.005, None);
        let [dark, full] = curtains.band();
        assert!((dark - 0.375).abs() < 1e-9 && (full - 0.625).abs() < 1e-9, "{dark} {full}");
        assert_eq!(curtains.lit(0.37), 0.0);
        assert!((curtains.lit(0.5) - 0.5).abs() < 1e-9);
        assert!((curtains.lit(0.63) - 1.0).abs() < 1e-9);
        // a pulse of no length has a hard edge; all is dark but the last edge at no time at all
        let hard = Curtains::new(0.0025, 0.005, Some(0.005));
        assert_eq!((hard.lit(0.49), hard.lit(0.51)), (0.0, 1.0));
        assert!(Curtains::new(1e-5, 0.005, None).band()[0] > 0.99);
    }
}
