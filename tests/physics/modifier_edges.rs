//! Edges and cuts: the size that a modifier gives the source, seen in a shadow's edge; barn doors;
//! nets; boards that bounce.

use foreshadow::stage::{Source, Stage};
use foreshadow::trace::{Receptor, Tracer};
use glam::Vec3;

use crate::edge::{edge_stage, rendered};
use crate::planned::{AT, Range, built, plan};
use crate::set::{across, close, render, stops, within, y};

/// The films of a planned light, moved to `position` and aimed along −z.
fn films(fields: &str, position: Vec3) -> Vec<Source> {
    let stage = built(fields);
    stage.lights[0]
        .fronts()
        .map(|film| {
            let mut film = film.clone();
            film.position = position;
            (film.axis, film.right, film.up) = (Vec3::NEG_Z, Vec3::X, Vec3::Y);
            film
        })
        .collect()
}

fn edge_of(fields: &str, a: f32, b: f32, width: f64) -> Stage {
    let mut films = films(fields, Vec3::Z * (a + b)).into_iter();
    let first = films.next().unwrap();
    let mut stage = edge_stage(vec![first], b, width, vec![]);
    stage.lights[0].also = films.collect();
    stage
}

/// D·b/a: a dish is as large as its mouth; cloth over it makes it as large as the cloth, no more.
#[test]
fn the_edge_is_as_wide_as_the_front() {
    let (a, b) = (2.0f32, 0.4);
    for (fields, diameter) in [
        ("modifier: Dish()", 0.18),
        ("modifier: LongThrow()", 0.35),
        ("modifier: Dish(), cloth: (hot: 0)", 0.18),
        ("modifier: Dish(), cloth: (hot: 0, diameter: 0.4)", 0.4),
        ("modifier: Snoot()", 0.07),
    ] {
        let expected = diameter * f64::from(b / a);
        let got = rendered(&edge_of(fields, a, b, expected), 0, b, expected, 48);
        assert!(got.error_m < 0.02 * expected, "noise {got:?}");
        close(got.width_m, expected, 0.05);
    }
}

/// Disc profile over u.
fn lit_share(u: f64) -> f64 {
    let u = u.clamp(-1.0, 1.0);
    ((-u).acos() + u * (1.0 - u * u).sqrt()) / std::f64::consts::PI
}

/// Case S07: tube 4 cm in a dish of 18 cm, a = 2 m, b = 0.5 m: an inner edge 10 mm wide within an
/// outer one of 45 mm. The inner step is the tube's share of the light.
#[test]
fn s07_a_tube_in_a_dish_draws_two_edges() {
    let (a, b) = (2.0f32, 0.5);
    let share = 0.4;
    let fields = format!("modifier: Dish(), head: (tube: (diameter: 0.04, share: {share}))");
    let (inner, outer) = (0.010, 0.045);
    let stage = edge_of(&fields, a, b, outer);
    let layers = render(&stage, [192, 12], 64, 5);
    let profile = across(&layers, 0, &stage.camera, f64::from(0.8 * b));
    // least squares of two steps of given widths
    let solve = |w: f64, v: f64| {
        let (mut aa, mut ab, mut bb, mut ay, mut by, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for &(x, value) in &profile {
            let (p, q) = (lit_share(2.0 * x / w), lit_share(2.0 * x / v));
            aa += p * p;
            ab += p * q;
            bb += q * q;
            ay += p * value;
            by += q * value;
            yy += value * value;
        }
        let det = aa * bb - ab * ab;
        let (p, q) = ((bb * ay - ab * by) / det, (aa * by - ab * ay) / det);
        (yy - p * ay - q * by, p / (p + q))
    };
    let mut best = (f64::INFINITY, 0.0, 0.0, 0.0);
    for i in 0..81 {
        for j in 0..81 {
            let w = inner * (0.6 + 0.01 * f64::from(i));
            let v = outer * (0.8 + 0.005 * f64::from(j));
            let (rest, of_tube) = solve(w, v);
            if rest < best.0 {
                best = (rest, w, v, of_tube);
            }
        }
    }
    let (_, w, v, of_tube) = best;
    eprintln!("inner {w}, outer {v}, share {of_tube}");
    close(w, inner, 0.15);
    close(v, outer, 0.05);
    within(of_tube, share, 0.03);
}

/// A leaf straight ahead: toward its tip over the middle of the mouth half of the dish shows,
/// past the line from the far rim nothing; the other leaves, wide open, cut nothing.
#[test]
fn barn_doors_cut() {
    let wide = "top: 90, bottom: 90, left: 90, right: 90";
    let open = Range::new(&built("modifier: Dish(beam: 100, field: 150)"));
    let same =
        Range::new(&built(&format!("modifier: Dish(beam: 100, field: 150), doors: ({wide})")));
    for (theta, azimuth) in [(0.0, 0.0), (40.0, 90.0), (40.0, 0.0), (40.0, 225.0)] {
        close(same.intensity(theta, azimuth), open.intensity(theta, azimuth), 0.01);
    }
    for (leaf, azimuth) in [("top", 90.0), ("bottom", 270.0), ("left", 180.0), ("right", 0.0)] {
        let doors = wide.replace(&format!("{leaf}: 90"), &format!("{leaf}: 0"));
        let fields =
            format!("modifier: Dish(beam: 100, field: 150), doors: ({doors}, length: 0.18)");
        let cut = Range::new(&built(&fields));
        // hinge 6 % out from a rim of 9 cm, tip 18 cm on (and 4 mm before the mouth)
        let toward = |over: f64| ((0.0954 + over) / 0.184).atan().to_degrees();
        let share = |over: f64| {
            let theta = toward(over);
            cut.intensity(theta, azimuth) / open.intensity(theta, azimuth)
        };
        close(share(0.0), 0.5, 0.04);
        assert!(share(0.09) < 0.03, "{leaf}: {}", share(0.09));
        close(cut.intensity(toward(-0.09), azimuth), open.intensity(toward(-0.09), azimuth), 0.01);
        close(cut.intensity(40.0, azimuth + 180.0), open.intensity(40.0, azimuth + 180.0), 0.01);
    }
}

/// A recess hides the cloth from the side: a strip sunk 10 cm is half gone where the rim's line
/// crosses its middle.
#[test]
fn a_recess_cuts_the_side() {
    let flat = Range::new(&built("modifier: SoftBox(width: 0.3, height: 1.2, hot: 0)"));
    let sunk =
        Range::new(&built("modifier: SoftBox(width: 0.3, height: 1.2, hot: 0, recess: 0.1)"));
    let half = ((0.15f64 + 0.004) / 0.1).atan().to_degrees();
    close(sunk.intensity(half, 0.0), 0.5 * flat.intensity(half, 0.0), 0.04);
    close(sunk.intensity(0.0, 0.0), flat.intensity(0.0, 0.0), 0.02);
}

/// What a flat meter before the light gets with things of the plan between, 4 m off on the axis.
fn with_boards(boards: &str, at: Vec3, facing: Vec3) -> (f64, f64) {
    let mut plan = plan("fixture: false");
    let text = format!(
        "(format: 1, ambient: (ev: 5), room: (width: 60, depth: 60, height: 30), boards: [{boards}])"
    );
    plan.boards = foreshadow::plan::parse(&text, "boards").unwrap().boards;
    let stage = foreshadow::stage::build(&plan).unwrap();
    let got = Tracer::new(&stage, |_| true).meter(at, facing, Receptor::Flat, 32, 1)[0];
    (y(got.direct), y(got.bounced))
}

/// Nets lose their stops; flags and round flags lose all, and only behind them.
#[test]
fn nets_and_flags() {
    let at = AT + Vec3::Z * 4.0;
    let (bare, _) = with_boards("", at, Vec3::NEG_Z);
    let board = |kind: &str, more: &str| {
        format!(
            "(name: \"b\", kind: {kind}, width: 0.6, height: 0.6, {more} place: At(x: 0, y: 15, z: 2), \
             aim: Point(x: 0, y: 15, z: 0))"
        )
    };
    for loss in [0.5, 1.0, 2.0] {
        for more in ["", "round: true,", "roll: 30,"] {
            let (got, _) =
                with_boards(&board(&format!("Net(stops: {loss})"), more), at, Vec3::NEG_Z);
            within(stops(got, bare), -loss, 0.05);
        }
    }
    for kind in ["Flag", "Black", "White", "Silver"] {
        let (got, _) = with_boards(&board(kind, "round: true,"), at, Vec3::NEG_Z);
        assert_eq!(got, 0.0, "{kind}");
    }
    // a corner of the square is outside the round flag: x = y = 0.245 is 0.346 from the middle
    let corner = AT + Vec3::new(0.49, 0.49, 4.0);
    let (open, _) = with_boards(&board("Flag", "round: true,"), corner, Vec3::NEG_Z);
    let (shut, _) = with_boards(&board("Flag", ""), corner, Vec3::NEG_Z);
    assert!(open > 0.5 * bare && shut == 0.0, "{open} {shut}");
    // a hole of 20 cm before the meter lets the whole of the dish through
    let hole = board("CutOut(Shapes(holes: [Circle(diameter: 0.2)]))", "");
    let (got, _) = with_boards(&hole, at, Vec3::NEG_Z);
    close(got, bare, 0.01);
}

/// A white board bounces as matt card: E = ρ·E₁·A·cos·cos/(π d²); silver throws more where a mirror
/// would, less aside; gold is warm.
#[test]
fn boards_bounce() {
    let board = |kind: &str| {
        format!(
            "(name: \"b\", kind: {kind}, width: 0.5, height: 0.5, place: At(x: 0, y: 15, z: 3), \
             aim: Point(x: 0, y: 15, z: 0))"
        )
    };
    let bounced = |kind: &str, at: Vec3| {
        let facing = (AT + Vec3::Z * 3.0 - at).normalize();
        with_boards(&board(kind), at, facing).1
    };
    // back toward the head, a little aside; and far aside
    let (near_mirror, aside) = (AT + Vec3::new(0.3, 0.0, 0.8), AT + Vec3::new(2.2, 0.0, 1.6));
    // the dish's candela over 3 m squared, on 0.25 m²
    let on_board = 16_000.0 * (-0.5f64).exp2() / 0.9 / 9.0;
    let expected = |at: Vec3| {
        let span = f64::from((AT + Vec3::Z * 3.0 - at).length());
        let cos = f64::from(3.0 - (at - AT).z) / span;
        0.9 * on_board * 0.25 * cos / (std::f64::consts::PI * span * span)
    };
    for at in [near_mirror, aside] {
        // the dish's solid angle is within a few per cent of 0.9 sr, the board of its axis
        within(stops(bounced("White", at), expected(at)), 0.0, 0.25);
    }
    let gain = stops(bounced("Silver", near_mirror), bounced("White", near_mirror));
    let loss = stops(bounced("Silver", aside), bounced("White", aside));
    assert!(gain > 0.7 && loss < -1.0, "silver: {gain} in the mirror's way, {loss} aside");
    assert!(bounced("Black", near_mirror) < 0.06 * bounced("White", near_mirror));
    // the back of a board with its own paint
    let two = board("White").replace("aim:", "back: (reflectance: 0.45), aim:");
    let behind = two.replace("z: 0)", "z: 9)");
    let facing = (AT + Vec3::Z * 3.0 - near_mirror).normalize();
    let grey = with_boards(&behind, near_mirror, facing).1;
    close(grey / bounced("White", near_mirror), 0.5, 0.05);
}
