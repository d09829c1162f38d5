//! Shutter, powers and the room's light against the camera's setting.

use super::{Note, Severity};
use crate::optics::exposure::Exposure;
use crate::plan::{Ambient, Camera, Length, Light, Place, Plan};
use crate::shoot::{gains, take};

/// Room light nearer than this to the exposure shows in the shadows, in stops (common practice,
/// no source: flash shadows usually lie 2 to 4 stops under, and a tint shows one stop below that).
const TINTS_WITHIN_STOPS: f64 = 5.0;

/// `room_under_flash`: how far the room's light lies under the flash at the face, in stops, where
/// the set stands and can be read.
pub(super) fn notes(plan: &Plan, room_under_flash: Option<f64>) -> Vec<Note> {
    let mut notes = Vec::new();
    let flashes = plan.lights.iter().any(|light| light.on);
    if flashes {
        notes.extend(sync(&plan.camera));
    }
    notes.extend(plan.lights.iter().filter(|light| light.on).filter_map(power));
    if let (Some(ambient), true) = (&plan.ambient, flashes) {
        notes.extend(tint(ambient, &plan.camera, room_under_flash));
    }
    notes
}

/// Beyond sync the second curtain is on its way when the flash fires (`optics::shutter`); heads
/// that pulse pay for it in light.
fn sync(camera: &Camera) -> Option<Note> {
    if camera.shutter.seconds >= camera.sync.seconds {
        return None;
    }
    if let Some(curtains) = take::curtains(camera) {
        let [dark, full] = curtains.band();
        let place = if camera.upright { "right (grip up)" } else { "bottom" };
        // engraved times are rounded: 1/250 and 1/256 are the same shutter
        return (full > 0.03).then(|| {
            Note::new(
                Severity::Problem,
                "camera",
                format!(
                    "the shutter, {}, is faster than sync, {}: a dark band will cover about {:.0} % \
                     of the frame from the {place} and fade out at {:.0} %",
                    camera.shutter,
                    camera.sync,
                    100.0 * dark,
                    100.0 * full
                ),
                format!(
                    "set {} or slower, or use high-speed sync where the heads have it: that costs \
                     about {:.1} stops of flash (±0.7: heads differ)",
                    camera.sync,
                    gains::high_speed_loss(&Camera { high_speed_sync: true, ..camera.clone() })
                ),
            )
        });
    }
    let loss = gains::high_speed_loss(camera);
    Some(Note::new(
        Severity::Caution,
        "camera",
        format!(
            "high-speed sync at {} costs about {loss:.1} stops of flash (±0.7: heads differ)",
            camera.shutter
        ),
        format!("try it with your heads, or set {} and a neutral filter", camera.sync),
    ))
}

fn power(light: &Light) -> Option<Note> {
    let (power, lowest) = (light.power, light.head.lowest);
    let over = power.stops;
    let under = lowest.stops - power.stops;
    if over > 0.005 {
        let nearer = match &light.place {
            Place::Around { distance, .. } => {
                let to = Length::metres(distance.metres * (-over / 2.0).exp2());
                format!("move it from {distance} to {to} at full power")
            }
            _ => format!("move it to {:.0} % of its distance", 100.0 * (-over / 2.0).exp2()),
        };
        Some(Note::new(
            Severity::Problem,
            &light.name,
            format!("it would need {over:.1} stops above full power"),
            format!(
                "{nearer}, open the aperture or raise the ISO by {over:.1} stops, or use a head of {:.0} W·s",
                light.head.energy_ws * over.exp2()
            ),
        ))
    } else if under > 0.005 {
        Some(Note::new(
            Severity::Problem,
            &light.name,
            format!("{power} is {under:.1} stops below this head's lowest, {lowest}"),
            format!(
                "set {lowest} and put a neutral filter of {under:.1} stops before it, or move it away"
            ),
        ))
    } else {
        None
    }
}

fn tint(ambient: &Ambient, camera: &Camera, under_flash: Option<f64>) -> Option<Note> {
    let under = stops_under(ambient.ev, camera);
    let tints = under.min(under_flash.unwrap_or(f64::INFINITY)) < TINTS_WITHIN_STOPS;
    tints.then(|| {
        let gain = (camera.shutter.seconds / camera.sync.seconds).log2();
        let faster = if gain > 0.05 {
            format!(", set the shutter to {} ({gain:.1} stops less room light)", camera.sync)
        } else {
            String::new()
        };
        let lies = if under >= 0.0 {
            format!("{under:.1} stops under")
        } else {
            format!("{:.1} stops over", -under)
        };
        let flash = match under_flash {
            Some(under) if under >= 0.0 => format!(" and {under:.1} under the flash at the face"),
            Some(under) => format!(" and {:.1} over the flash at the face", -under),
            None => String::new(),
        };
        Note::new(
            Severity::Caution,
            "ambient",
            format!(
                "the room's light lies {lies} the exposure{flash}: at {:.0} K against {:.0} K it \
                 will tint the shadows",
                ambient.kelvin, camera.white_balance
            ),
            format!("switch it off{faster}, or close down and raise the flash powers with it"),
        )
    })
}

/// How far a room of incident value `ev` (ISO 100) lies under the camera's setting, in stops.
fn stops_under(ev: f64, camera: &Camera) -> f64 {
    let setting = Exposure {
        iso: camera.iso * (-camera.nd.stops).exp2(),
        f_number: camera.aperture.f_number,
        shutter_s: camera.shutter.seconds,
    };
    setting.ev100() - ev
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Aperture, Power, Shutter};

    fn camera(f_number: f64, shutter_s: f64, iso: f64, sync_s: f64) -> Camera {
        Camera {
            aperture: Aperture { f_number },
            shutter: Shutter { seconds: shutter_s },
            iso,
            sync: Shutter { seconds: sync_s },
            ..Camera::default()
        }
    }

    fn light(place: Place) -> Light {
        Light {
            name: "key".into(),
            on: true,
            power: Power::default(),
            head: Default::default(),
            modifier: Default::default(),
            grid: None,
            doors: None,
            cloth: None,
            gel: None,
            place,
            aim: Default::default(),
            fixture: true,
        }
    }

    /// Case A01: home interiors at EV 5 to 7 vanish at ISO 100, 1/125, f/8.
    #[test]
    fn killing_the_room() {
        let camera = camera(8.0, 1.0 / 125.0, 100.0, 1.0 / 200.0);
        for (ev, under) in [(5.0, 8.0), (7.0, 6.0)] {
            assert!((stops_under(ev, &camera) - under).abs() < 0.05);
            assert_eq!(tint(&Ambient { ev, kelvin: 3000.0 }, &camera, None), None);
        }
    }

    /// Case A02: wide open at ISO 50, 1/200, f/1.2 it does not vanish.
    #[test]
    fn wide_open_the_room_tints() {
        let camera = camera(1.2, 1.0 / 200.0, 50.0, 1.0 / 200.0);
        for (ev, under) in [(5.0, 4.2), (7.0, 2.2)] {
            assert!((stops_under(ev, &camera) - under).abs() < 0.05);
            let note = tint(&Ambient { ev, kelvin: 3000.0 }, &camera, None).unwrap();
            assert!(note.what.contains("tint the shadows"), "{}", note.what);
        }
    }

    /// Case A04: from 1/60 to 1/250 the room's light falls by 2.06 stops. (That the flash does
    /// not change is a matter of the mix.)
    #[test]
    fn shutter_moves_ambient() {
        let at = |seconds| stops_under(6.0, &camera(8.0, seconds, 100.0, 1.0 / 250.0));
        assert!((at(1.0 / 60.0) - at(1.0 / 250.0) + 2.06).abs() < 0.01);
    }

    /// Case A10: 1/320 with sync at 1/200 gives a dark band.
    #[test]
    fn faster_than_sync() {
        let note = sync(&camera(8.0, 1.0 / 320.0, 100.0, 1.0 / 200.0)).unwrap();
        assert_eq!(note.severity, Severity::Problem);
        // curtains of 4 ms, pulse of 1 ms: 1 − 3.125/4, and (4 + 1 − 3.125)/4
        for part in ["dark band", "22 % of the frame", "fade out at 47 %"] {
            assert!(note.what.contains(part), "{}", note.what);
        }
        assert_eq!(sync(&camera(8.0, 1.0 / 200.0, 100.0, 1.0 / 200.0)), None);
        assert_eq!(sync(&camera(8.0, 1.0 / 202.0, 100.0, 1.0 / 200.0)), None);
    }

    /// Case A07: what high-speed sync costs on entering it, 2.03 stops; ours within 0.5.
    #[test]
    fn high_speed_sync_costs() {
        let fast = camera(3.5, 1.0 / 320.0, 100.0, 1.0 / 250.0);
        let note = sync(&Camera { high_speed_sync: true, ..fast }).unwrap();
        assert_eq!(note.severity, Severity::Caution);
        assert!(note.what.contains("2.3 stops"), "{}", note.what);
    }

    /// Case A07: 1/320 with sync at 1/250 cost one user 2.39 stops in all, of which 0.36 are the
    /// shutter's own and 2.03 the price of entry; the model lies within half a stop.
    #[test]
    fn high_speed_sync_is_dear() {
        let note = sync(&camera(3.5, 1.0 / 320.0, 100.0, 1.0 / 250.0)).unwrap();
        let (_, after) = note.remedy.split_once("about ").unwrap();
        let cost: f64 = after.split(' ').next().unwrap().parse().unwrap();
        assert!((cost - 2.39).abs() <= 0.5, "{}", note.remedy);
    }

    #[test]
    fn power_out_of_the_heads_range() {
        let around = Place::Around {
            azimuth: 0.0,
            elevation: 0.0,
            distance: Length::metres(2.0),
            of: Default::default(),
        };
        let mut light = light(around);
        assert_eq!(power(&light), None);
        light.power = Power { stops: 2.0 };
        let note = power(&light).unwrap();
        assert!(
            note.remedy.contains("from 2 m to 1 m") && note.remedy.contains("1600 W·s"),
            "{}",
            note.remedy
        );
        light.power = Power { stops: -8.0 };
        assert!(power(&light).unwrap().what.contains("1.0 stops below"));
    }
}
