//! Things of a plan in an assistant's words.

use std::collections::BTreeMap;

use crate::papers::sheet::Units;
use crate::papers::sheet::record::Thing;
use crate::plan::{
    self, Board, BoardKind, Cloth, ClothShape, CutOut, Finish, GarmentCut, Gel, HairStyle, Length,
    Modifier, Paint, Pose, SetBox, Target,
};
use crate::stage::Source;

/// Farther round than this from the camera a light comes from behind, degrees.
const BEHIND_DEG: f32 = 100.0;

/// Short lengths of gear: centimetres.
fn cm(length: Length) -> String {
    format!("{:.0} cm", length.metres * 100.0)
}

/// What a light does: by its name where that says so, else by where it stands.
pub(super) fn role(light: &plan::Light, source: &Source, strongest: bool) -> String {
    let name = light.name.to_lowercase();
    let named = ["key", "fill", "rim", "hair", "kick", "background", "bounce"]
        .into_iter()
        .find(|role| name.contains(role));
    let at = source.position;
    let role = match (named, &light.aim) {
        (Some("kick"), _) => "kicker",
        (Some(role), _) => role,
        (None, Target::Ceiling) => "bounce",
        (None, Target::Named(_)) => "background",
        (None, _) if at.x.atan2(at.z).to_degrees().abs() > BEHIND_DEG => "rim",
        (None, _) if strongest => "key",
        (None, _) => "light",
    };
    match (role, &light.aim) {
        ("bounce", _) => "bounce off the ceiling".into(),
        (role, Target::Ceiling) => format!("{role}, off the ceiling"),
        _ => role.into(),
    }
}

/// What is before the tube, with its grid, doors and front cloth.
pub(super) fn modifier(light: &plan::Light) -> String {
    let beams = |what: &str, diameter: &Length, beam: f64, field: f64| {
        format!("{what} {}, beam {beam:.0}°, field {field:.0}°", cm(*diameter))
    };
    let mut words = match &light.modifier {
        Modifier::BareTube { .. } => "bare tube".into(),
        Modifier::Lantern { diameter, .. } => format!("lantern {}", cm(*diameter)),
        Modifier::Dish { diameter, beam, field, .. } => beams("dish", diameter, *beam, *field),
        Modifier::ShortDish { diameter, beam, field, .. } => {
            beams("short dish", diameter, *beam, *field)
        }
        Modifier::LongThrow { diameter, beam, field, .. } => {
            beams("long-throw dish", diameter, *beam, *field)
        }
        Modifier::BeautyDish { diameter, .. } => format!("beauty dish {}", cm(*diameter)),
        Modifier::Ring { diameter, .. } => format!("ring {} round the lens", cm(*diameter)),
        Modifier::Snoot { diameter, length, .. } => {
            format!("snoot {} across, {} long", cm(*diameter), cm(*length))
        }
        Modifier::LensSpot { diameter, beam, .. } => {
            format!("lens spot {}, iris {beam:.0}°", cm(*diameter))
        }
        Modifier::Panel { width, height, .. } => {
            format!("soft front {} × {}", cm(*width), cm(*height))
        }
        Modifier::SoftBox { width, height, .. } => {
            format!("soft box {} × {}", cm(*width), cm(*height))
        }
        Modifier::Octagon { diameter, .. } => format!("eight-sided soft box {}", cm(*diameter)),
        Modifier::BounceUmbrella { diameter, .. } => {
            format!("umbrella {}, bounced", cm(*diameter))
        }
        Modifier::ShootThrough { diameter, .. } => {
            format!("umbrella {}, shot through", cm(*diameter))
        }
        Modifier::Scrim { width, height, behind, .. } => {
            format!("scrim {} × {}, head {} behind it", cm(*width), cm(*height), cm(*behind))
        }
        Modifier::Photometric { file, .. } => format!("as in {file}"),
    };
    if let Some(grid) = light.grid {
        words += &format!(", grid {grid:.0}°");
    }
    if light.cloth.is_some() {
        words += ", front cloth";
    }
    if let Some(doors) = &light.doors {
        words += &format!(
            ", doors top {:.0}° bottom {:.0}° left {:.0}° right {:.0}°",
            doors.top, doors.bottom, doors.left, doors.right
        );
    }
    words
        .replace('-', "−")
        .replace("long−throw", "long-throw")
        .replace("eight−sided", "eight-sided")
}

pub(super) fn gel(gel: &Gel) -> String {
    let through = 100.0 * (-gel.loss_stops()).exp2();
    match gel {
        Gel::Mired { shift, .. } => {
            let way = if *shift < 0.0 { "cooling" } else { "warming" };
            format!("gel {shift:+.0} mired ({way}), lets {through:.0} % through").replace('-', "−")
        }
        Gel::Color { color, .. } => format!("gel {color}, lets {through:.0} % through"),
    }
}

pub(super) fn board(board: &Board) -> String {
    let size = format!("{} × {}", cm(board.width), cm(board.height));
    let roll = if board.roll == 0.0 {
        String::new()
    } else {
        format!(", rolled {:.0}°", board.roll).replace('-', "−")
    };
    let what = match &board.kind {
        BoardKind::Flag => "black flag".to_owned(),
        BoardKind::Reflector(paint) => {
            let level = paint
                .reflectance
                .map_or(String::new(), |r| format!(", reflects {:.0} %", 100.0 * r));
            format!("reflector{}{level}", hue(paint))
        }
        BoardKind::CutOut(CutOut::Window { rows, columns, bar }) => {
            format!(
                "black cut-out, window of {rows} × {columns} panes, bars {:.0} % of the pitch",
                100.0 * bar
            )
        }
        BoardKind::CutOut(CutOut::Slats { count, solid }) => {
            format!("black cut-out, {count} slots, {:.0} % solid", 100.0 * solid)
        }
        BoardKind::Net { stops } => format!("black net, {stops} stops"),
        BoardKind::White => "white board".to_owned(),
        BoardKind::Silver => "silver board".to_owned(),
        BoardKind::Gold => "gold board".to_owned(),
        BoardKind::Black => "black board".to_owned(),
        BoardKind::CutOut(CutOut::Shapes { holes }) => {
            format!("black cut-out, {} openings", holes.len())
        }
        BoardKind::CutOut(CutOut::Picture { file, .. }) => format!("black cut-out after {file}"),
        BoardKind::CutOut(CutOut::Leaves { count, .. }) => {
            format!("black cut-out, {count} leaf-like openings")
        }
    };
    format!("{what}, {size}{roll}")
}

/// A paint's colour, where it has one: black velvet is not "#ffffff".
fn hue(paint: &Paint) -> String {
    match paint.color.as_str() {
        "#ffffff" => String::new(),
        color => format!(" {color}"),
    }
}

pub(super) fn cloth(cloth: &Cloth, units: Units) -> Thing {
    let paint = &cloth.fabric.paint;
    let finish = match cloth.fabric.finish {
        Finish::Matte => "matt",
        Finish::Satin => "satin",
        Finish::Velvet => "velvet",
    };
    let level =
        paint.reflectance.map_or(String::new(), |r| format!(", reflects {:.0} %", 100.0 * r));
    let l = |length: &Length| units.length(length.metres);
    let side = |x: &Length| match x.metres {
        x if x.abs() < 0.005 => String::new(),
        x => format!(
            ", {} {} of the mark",
            units.length(x.abs()),
            if x < 0.0 { "left" } else { "right" }
        ),
    };
    let turned = |turn: f64| match turn {
        turn if turn.abs() < 0.5 => String::new(),
        turn => format!(", turned {turn:.0}°").replace('-', "−"),
    };
    let mut measures = BTreeMap::from([
        ("creases", cloth.creases),
        ("folds", cloth.folds),
        ("seed", cloth.seed as f64),
    ]);
    let mut measure = |name, value: f64| {
        measures.insert(name, value);
    };
    let words = match &cloth.shape {
        ClothShape::Backdrop { width, top, behind, x, turn, sweep } => {
            for (name, length) in [
                ("width_m", width),
                ("top_m", top),
                ("behind_m", behind),
                ("x_m", x),
                ("sweep_m", sweep),
            ] {
                measure(name, length.metres);
            }
            measure("turn_deg", *turn);
            let sweep = if sweep.metres > 0.0 {
                format!(", running out {} on the floor", l(sweep))
            } else {
                String::new()
            };
            format!(
                "backdrop {} wide, bar {} high, {} behind the mark{}{}{sweep}",
                l(width),
                l(top),
                l(behind),
                side(x),
                turned(*turn)
            )
        }
        ClothShape::Floor { width, depth, x, z, turn } => {
            for (name, length) in [("width_m", width), ("depth_m", depth), ("x_m", x), ("z_m", z)] {
                measure(name, length.metres);
            }
            measure("turn_deg", *turn);
            format!(
                "laid on the floor, {} × {}, middle {} toward the camera{}{}",
                l(width),
                l(depth),
                l(z),
                side(x),
                turned(*turn)
            )
        }
        ClothShape::Over { boxes, overhang } => {
            measure("overhang_m", overhang.metres);
            format!("thrown over {}, {} over on every side", boxes.join(", "), l(overhang))
        }
        ClothShape::Drapery { width, top, drop, x, z, turn } => {
            for (name, length) in
                [("width_m", width), ("top_m", top), ("drop_m", drop), ("x_m", x), ("z_m", z)]
            {
                measure(name, length.metres);
            }
            measure("turn_deg", *turn);
            format!(
                "drapery, {} gathered, bar {} high, {} toward the camera{}{}",
                l(width),
                l(top),
                l(z),
                side(x),
                turned(*turn)
            )
        }
    };
    let words = format!("{words}; {finish}{}{level}", hue(paint));
    Thing { name: cloth.name.clone(), words, measures }
}

pub(super) fn set_box(one: &SetBox, units: Units) -> Thing {
    let l = |length: &Length| units.length(length.metres);
    let measures = BTreeMap::from([
        ("width_m", one.width.metres),
        ("height_m", one.height.metres),
        ("depth_m", one.depth.metres),
        ("x_m", one.x.metres),
        ("z_m", one.z.metres),
        ("base_m", one.base.metres),
        ("turn_deg", one.turn),
    ]);
    let raised = if one.base.metres > 0.0 {
        format!(", {} off the floor", l(&one.base))
    } else {
        String::new()
    };
    let turned = if one.turn == 0.0 {
        String::new()
    } else {
        format!(", turned {:.0}° anticlockwise", one.turn).replace('-', "−")
    };
    let words = format!(
        "box {} × {} × {} high; middle {} right, {} toward the camera{raised}{turned}",
        l(&one.width),
        l(&one.depth),
        l(&one.height),
        l(&one.x),
        l(&one.z)
    );
    Thing { name: one.name.clone(), words, measures }
}

pub(super) fn sitter(sitter: &plan::Sitter) -> String {
    let pose = match sitter.pose {
        Pose::Standing => "standing".to_owned(),
        Pose::Contrapposto => "standing, weight on one leg".to_owned(),
        Pose::SeatedOnBox => match &sitter.seat {
            Some(seat) => format!("seated on \"{seat}\""),
            None => "seated on a box".to_owned(),
        },
        Pose::SeatedOnFloor => "seated on the floor, one knee raised".to_owned(),
    };
    let garment = match sitter.garment.as_ref().map(|garment| garment.cut) {
        Some(GarmentCut::Tunic) => ", tunic",
        Some(GarmentCut::Robe) => ", robe",
        Some(GarmentCut::BareShoulders) => ", shoulders bare",
        None => "",
    };
    let hair = match sitter.hair.style {
        _ if sitter.headwrap.is_some() => "headwrap",
        HairStyle::Bald => "no hair",
        HairStyle::Cropped => "cropped hair",
        HairStyle::Volume => "full hair",
        HairStyle::Bob => "hair to the jaw",
        HairStyle::Bun => "hair in a bun",
    };
    format!("{:.2} m tall, {pose}{garment}, {hair}", sitter.height.metres)
}
