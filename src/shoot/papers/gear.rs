//! What to pack for a set. Counts follow from the plan; what goes with what is common studio
//! practice, no source.

use super::words;
use crate::papers::sheet::Units;
use crate::papers::sheet::record::{Light, Pack};
use crate::plan::{ClothShape, Plan};
use crate::shoot::check::{Note, Severity};

/// Cloth is wider or longer than it covers by the hem on the bar, metres.
const HEM_M: f64 = 0.2;

/// The list.
pub(super) fn pack(
    plan: &Plan,
    lights: &[Light],
    notes: &[Note],
    longest_tape_m: f64,
    units: Units,
) -> Vec<Pack> {
    let mut list: Vec<Pack> = Vec::new();
    let mut add = |count: usize, what: String| {
        if count > 0 {
            list.push(Pack { count, what });
        }
    };
    // heads of one kind together, with whom they are for
    let mut heads: Vec<(String, Vec<&str>)> = Vec::new();
    for light in lights.iter().filter(|light| light.on) {
        let kind = format!("flash head {:.0} W·s with {}", light.full_energy_ws, light.modifier);
        match heads.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, names)) => names.push(&light.name),
            None => heads.push((kind, vec![&light.name])),
        }
    }
    let on = heads.iter().map(|(_, names)| names.len()).sum::<usize>();
    for (kind, names) in &heads {
        add(names.len(), format!("{kind}: {}", names.join(", ")));
    }
    for light in lights.iter().filter(|light| light.on) {
        if let Some(gel) = &light.gel {
            add(1, format!("{gel}: {}", light.name));
        }
    }
    let held = |how: &str| lights.iter().filter(|light| light.on && light.support == how).count();
    let (stands, booms, poles) = (held("stand"), held("boom"), held("ceiling"));
    let boards = plan.boards.len();
    add(stands + boards, "light stand".into());
    add(booms, "boom with its own stand and counterweight".into());
    add(poles, "ceiling mount with a safety cable".into());
    add(boards, "clamp or arm for a board".into());
    let topple = |note: &&Note| note.severity == Severity::Safety && note.remedy.contains("bag");
    let heavy = notes.iter().filter(topple).map(|note| note.subject.as_str());
    let mut heavy: Vec<&str> = heavy.collect();
    heavy.sort_unstable();
    heavy.dedup();
    add(heavy.len() + booms + boards, "sandbag".into());
    if on > 0 {
        add(1, "flash trigger, with spare batteries".into());
        add(on, "mains lead or charged battery".into());
        add(on, "extension lead, with cable covers and floor tape".into());
    }
    for board in &plan.boards {
        let kind = words::board(board);
        add(1, format!("{kind}: {}", board.name));
    }
    for cloth in &plan.cloths {
        let m = |metres: f64| units.length(metres);
        let what = match &cloth.shape {
            ClothShape::Backdrop { width, top, sweep, .. } => {
                let long = top.metres + sweep.metres + HEM_M;
                add(2, format!("backdrop stand, {} high: {}", m(top.metres), cloth.name));
                add(
                    1,
                    format!("bar, {} long, and 6 clamps: {}", m(width.metres + HEM_M), cloth.name),
                );
                format!("cloth {} × {} long", m(width.metres), m(long))
            }
            ClothShape::Floor { width, depth, .. } => {
                format!("cloth {} × {}", m(width.metres), m(depth.metres))
            }
            ClothShape::Over { .. } => "cloth to throw over".to_owned(),
            ClothShape::Drapery { width, drop, .. } => {
                add(1, format!("bar on stands or from the ceiling: {}", cloth.name));
                format!("cloth {} × {} long", m(width.metres), m(drop.metres + HEM_M))
            }
        };
        add(1, format!("{what}: {}", cloth.name));
    }
    for one in &plan.boxes {
        let size = [one.width, one.depth, one.height].map(|side| units.length(side.metres));
        add(1, format!("box {}: {}", size.join(" × "), one.name));
    }
    let camera = &plan.camera;
    add(
        1,
        format!(
            "camera {} × {} mm, {} mm lens, camera stand",
            camera.format.width_mm, camera.format.height_mm, camera.focal_mm
        ),
    );
    add(1, "incident meter, grey card".into());
    add(2, format!("tape measure, {} or longer", units.length(longest_tape_m.ceil().max(5.0))));
    add(1, "plumb line, angle gauge, tape for the mark".into());
    list
}
