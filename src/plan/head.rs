//! Flash heads and continuous lamps: how much light, of which colour, in which steps.

use serde::{Deserialize, Serialize};

use super::units::{Aperture, Length, Power};

/// A head, or a lamp for those who light without flash.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "HeadFields", into = "HeadFields")]
pub struct Head {
    /// Which ready-made head fills in what the plan leaves out.
    pub class: HeadClass,
    /// How many such heads share the modifier. Energies and lumens count once for each; a guide
    /// number or a reading is of the whole light as it stands.
    pub count: u32,
    /// Stored energy at full power in W·s.
    pub energy_ws: f64,
    /// How its light is known.
    pub output: Output,
    /// Colour temperature in kelvin at full power.
    pub kelvin: f64,
    /// Its colour at lower powers, where it drifts; straight lines between, in stops.
    pub drift: Vec<Drift>,
    /// Lowest power in stops below full.
    pub lowest: Power,
    /// How finely its power is set.
    pub step: Step,
    /// The tube that shows in an open reflector.
    pub tube: Option<TubeSeen>,
    /// Seconds to full charge at full power; a note.
    pub recycle_s: Option<f64>,
    /// Modelling lamp in watts; a note (it warms cloth and room, and is off in the picture).
    pub modelling_w: Option<f64>,
}

/// Ready-made heads by energy class. Efficacies and colours are assumptions (mid of the 15–45
/// lm·s per W·s that makers state for pack systems; a small head with a plain tube gives less).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum HeadClass {
    /// A battery head for the camera's shoe: 70 W·s, full to 1/128 by thirds.
    Pocket70,
    /// A small battery head: 200 W·s, to 1/256 by tenths.
    Travel200,
    /// A common monobloc: 400 W·s, to 1/128 by tenths.
    #[default]
    Studio400,
    /// A stronger monobloc: 600 W·s, to 1/256 by tenths.
    Studio600,
    /// A head on a pack: 1200 W·s, to 1/128 by tenths.
    Pack1200,
    /// A head on a large pack: 2400 W·s, to 1/128 by tenths.
    Pack2400,
    /// A continuous lamp of about 150 W: 15 000 lm, to 1/16 by tenths.
    Lamp150,
}

/// Colour of a head at one power.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drift {
    /// At this power.
    pub power: Power,
    /// Kelvin.
    pub kelvin: f64,
}

/// How finely power is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Step {
    /// Whole stops.
    Full,
    /// Half stops.
    Half,
    /// Thirds.
    Third,
    /// Tenths.
    #[default]
    Tenth,
}

impl Step {
    /// In stops.
    pub fn stops(self) -> f64 {
        match self {
            Self::Full => 1.0,
            Self::Half => 0.5,
            Self::Third => 1.0 / 3.0,
            Self::Tenth => 0.1,
        }
    }
}

/// A tube (or its glass dome) that shows in the mouth of an open reflector: a small bright source
/// within the large one, which draws a second, harder outline into the edge of every shadow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TubeSeen {
    /// Across.
    #[serde(default = "tube_diameter")]
    pub diameter: Length,
    /// Share of the light that comes straight from it (assumption: a quarter).
    #[serde(default = "tube_share")]
    pub share: f64,
}

fn tube_diameter() -> Length {
    Length::metres(0.04)
}
fn tube_share() -> f64 {
    0.25
}

/// How the light of a head is known; a reading beats a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Output {
    /// Guide number in metres at ISO 100 at full power, on the axis, with the modifier of this
    /// plan. On the axis is toward what the light is aimed at, for a bare tube too.
    GuideNumber(f64),
    /// The user's own reading on the axis (toward the aim) with the modifier of this plan.
    Reading {
        /// What the meter said.
        aperture: Aperture,
        /// From the front of the modifier.
        distance: Length,
        /// Meter's ISO.
        #[serde(default = "iso100")]
        iso: f64,
        /// At this power.
        #[serde(default)]
        power: Power,
    },
    /// From the energy: lm·s per W·s at the tube, less the modifier's loss.
    Efficacy {
        /// lm·s of light per W·s stored.
        lm_s_per_ws: f64,
    },
    /// A continuous lamp by its lumens before the modifier, at full power.
    Lumens(f64),
    /// A continuous lamp by its candela on the axis with the modifier of this plan.
    Candela(f64),
    /// A continuous lamp by the lux that a flat meter shows on the axis with this modifier.
    Lux {
        /// Illuminance.
        lux: f64,
        /// From the front of the modifier.
        distance: Length,
    },
    /// A continuous lamp with the candela of its photometric file.
    AsFiled,
}

impl Output {
    /// Whether it burns on, as a lamp, and counts for the shutter time.
    pub fn is_continuous(&self) -> bool {
        matches!(self, Self::Lumens(_) | Self::Candela(_) | Self::Lux { .. } | Self::AsFiled)
    }
}

fn iso100() -> f64 {
    100.0
}

impl Default for Head {
    fn default() -> Self {
        Self::of(HeadClass::default())
    }
}

impl Head {
    /// The ready-made head of a class.
    pub fn of(class: HeadClass) -> Self {
        let (energy_ws, lm_s_per_ws, lowest, step, recycle_s, modelling_w) = match class {
            HeadClass::Pocket70 => (70.0, 30.0, -7.0, Step::Third, 2.5, None),
            HeadClass::Travel200 => (200.0, 35.0, -8.0, Step::Tenth, 1.8, Some(10.0)),
            HeadClass::Studio400 => (400.0, 40.0, -7.0, Step::Tenth, 1.0, Some(150.0)),
            HeadClass::Studio600 => (600.0, 40.0, -8.0, Step::Tenth, 1.0, Some(250.0)),
            HeadClass::Pack1200 => (1200.0, 40.0, -7.0, Step::Tenth, 1.2, Some(300.0)),
            HeadClass::Pack2400 => (2400.0, 40.0, -7.0, Step::Tenth, 2.2, Some(300.0)),
            HeadClass::Lamp150 => (150.0, 0.0, -4.0, Step::Tenth, 0.0, None),
        };
        let lamp = class == HeadClass::Lamp150;
        Self {
            class,
            count: 1,
            energy_ws,
            output: if lamp { Output::Lumens(15_000.0) } else { Output::Efficacy { lm_s_per_ws } },
            kelvin: 5600.0,
            drift: Vec::new(),
            lowest: Power { stops: lowest },
            step,
            tube: None,
            recycle_s: (!lamp).then_some(recycle_s),
            modelling_w,
        }
    }

    /// Colour temperature at a power, kelvin.
    pub fn kelvin_at(&self, power: Power) -> f64 {
        let mut points: Vec<(f64, f64)> = vec![(0.0, self.kelvin)];
        points.extend(self.drift.iter().map(|one| (one.power.stops, one.kelvin)));
        points.sort_by(|a, b| b.0.total_cmp(&a.0));
        let stops = power.stops;
        for pair in points.windows(2) {
            let [(above, hot), (below, cold)] = [pair[0], pair[1]];
            if stops <= above && stops >= below && above > below {
                return hot + (cold - hot) * (above - stops) / (above - below);
            }
        }
        let beyond = if stops > 0.0 { points.first() } else { points.last() };
        beyond.map_or(self.kelvin, |point| point.1)
    }
}

/// A head as written: what is left out comes from its class.
#[derive(Serialize, Deserialize)]
#[serde(rename = "Head", deny_unknown_fields, default)]
#[derive(Default)]
struct HeadFields {
    #[serde(skip_serializing_if = "super::is_default")]
    class: HeadClass,
    #[serde(skip_serializing_if = "Option::is_none")]
    count: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    energy_ws: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    output: Option<Output>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kelvin: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    drift: Vec<Drift>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lowest: Option<Power>,
    #[serde(skip_serializing_if = "Option::is_none")]
    step: Option<Step>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tube: Option<TubeSeen>,
    #[serde(skip_serializing_if = "Option::is_none")]
    recycle_s: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    modelling_w: Option<f64>,
}

impl From<HeadFields> for Head {
    fn from(written: HeadFields) -> Self {
        let ready = Self::of(written.class);
        Self {
            class: written.class,
            count: written.count.unwrap_or(1),
            energy_ws: written.energy_ws.unwrap_or(ready.energy_ws),
            output: written.output.unwrap_or(ready.output),
            kelvin: written.kelvin.unwrap_or(ready.kelvin),
            drift: written.drift,
            lowest: written.lowest.unwrap_or(ready.lowest),
            step: written.step.unwrap_or(ready.step),
            tube: written.tube,
            recycle_s: written.recycle_s.or(ready.recycle_s),
            modelling_w: written.modelling_w.or(ready.modelling_w),
        }
    }
}

impl From<Head> for HeadFields {
    fn from(head: Head) -> Self {
        let ready = Head::of(head.class);
        fn differs<T: PartialEq>(own: T, ready: &T) -> Option<T> {
            (own != *ready).then_some(own)
        }
        Self {
            class: head.class,
            count: differs(head.count, &1),
            energy_ws: differs(head.energy_ws, &ready.energy_ws),
            output: differs(head.output, &ready.output),
            kelvin: differs(head.kelvin, &ready.kelvin),
            drift: head.drift,
            lowest: differs(head.lowest, &ready.lowest),
            step: differs(head.step, &ready.step),
            tube: head.tube,
            recycle_s: head.recycle_s.filter(|own| ready.recycle_s != Some(*own)),
            modelling_w: head.modelling_w.filter(|own| ready.modelling_w != Some(*own)),
        }
    }
}
