//! Cloth on the body: cut like a garment, hung from the body's field, folded by gravity and pull.
//!
//! In: a [`Body`] and the cut. Out: a [`Shell`] with turned-in hems, in the sitter's own space, and
//! which skin it hides.
//!
//! ```text
//!   cloth = (body + ease) ∪ hanging forms − folds
//!   kept  = outside the neck hole, above the hems
//!   tunic = a top that ends in a hem at mid-thigh, over trousers: two layers, meshed apart
//! ```

use std::f32::consts::TAU;

use glam::Vec3;
use rayon::prelude::*;

use super::body::Body;
use super::cut::keep;
use super::field::{Field, Join, Near, Op, Part, Prim, Shape, smooth_min};
use super::folds::{Piece, folds};
use super::hem::turn_in;
use super::mesher::{Grid, Shell, Solid, mesh};
use super::noise::{ease, value};
use super::skeleton::{Bone, SIDES};
use super::unpinch::main_piece;
use crate::plan::GarmentCut;

/// How loosely it lies where nothing holds it.
const EASE_M: f32 = 0.011;
/// How much closer it lies at the neckline.
const LAID_M: f32 = 0.0075;
/// The least distance of cloth from skin.
const CLOTH_M: f32 = 0.004;
/// Grid spacing.
const CELL_M: f32 = 0.0085;

/// How far a tube of cloth is modelled beyond its hem before it is cut there.
const BEYOND_M: f32 = 0.014;
/// Share of the thigh a tunic covers.
const TUNIC_END: f32 = 0.42;

/// How far a tunic's front and the cloth of a raised thigh lap over each other.
const LAP_M: f32 = 0.07;

/// A sleeve or trouser leg: its own field, and where along which bone it ends.
struct Tube {
    field: Field,
    from: Bone,
    to: Bone,
    /// Share of the bone at which it ends.
    end: f32,
    /// Where it joins the trunk.
    join: Join,
}

/// A garment on a body.
pub struct Garment<'a> {
    layers: Vec<Layer<'a>>,
}

/// Cloth in one surface.
struct Layer<'a> {
    body: &'a Body,
    piece: Piece,
    /// Trunk, and legs under a skirt.
    under: Field,
    hang: Field,
    tubes: Vec<Tube>,
}

/// What matters near a block.
pub struct NearCloth {
    under: Near,
    hang: Near,
    tubes: Vec<(usize, Near)>,
}

impl<'a> Garment<'a> {
    /// Cuts and hangs it.
    pub fn on(body: &'a Body, cut: GarmentCut) -> Self {
        let mut layers = vec![Layer::of(body, Piece::Top(cut))];
        if cut == GarmentCut::Tunic {
            layers.push(Layer::of(body, Piece::Trousers));
        }
        Self { layers }
    }

    /// The cloth itself.
    pub fn shell(&self) -> Shell {
        let mut whole = Shell::default();
        for shell in self.layers.par_iter().map(Layer::shell).collect::<Vec<_>>() {
            let first = whole.positions.len() as u32;
            whole.positions.extend(shell.positions);
            whole.normals.extend(shell.normals);
            whole.triangles.extend(shell.triangles.iter().map(|t| t.map(|v| v + first)));
        }
        whole
    }

    /// Skin that shows: positive outside the garment or near its openings.
    pub fn shows(&self, p: Vec3) -> f32 {
        self.layers.iter().map(|layer| layer.shows(p)).fold(f32::MAX, f32::min)
    }
}

impl<'a> Layer<'a> {
    fn of(body: &'a Body, piece: Piece) -> Self {
        let part = |i: usize| body.field.parts[i].clone();
        let rests = &body.field.rests;
        let of = |parts: Vec<Part>| Field { parts, rests: rests.clone() };
        let skin_and = |skin: Part, ease: f32, cloth: Vec<Prim>| {
            let at = skin.join.at;
            let raised = raised(skin, ease);
            of(vec![
                raised,
                Part { prims: cloth, join: Join { at, reach: 1.0, k: 0.03, far: 0.03 } },
            ])
        };
        let mut tubes = Vec::new();
        let mut under = vec![without_dents(part(0))];
        for s in SIDES {
            let (arm, leg) = (1 + 2 * s, 2 + 2 * s);
            let shoulder = body.posed.frame(Bone::UpperArm(s)).shift;
            let hip = body.posed.frame(Bone::Thigh(s)).shift;
            let crotch =
                body.posed.point(Bone::Pelvis, Vec3::Y * (body.measures.trochanter_height - 0.06));
            let sleeve = |cut, from, to, end| Tube {
                field: skin_and(part(arm), 0.004, sleeve(body, cut, s)),
                from,
                to,
                end,
                join: Join { at: shoulder, reach: 0.24, k: 0.085, far: 0.010 },
            };
            match piece {
                Piece::Top(cut) => {
                    under.push(part(leg));
                    if cut == GarmentCut::Tunic {
                        tubes.push(sleeve(cut, Bone::UpperArm(s), Bone::Forearm(s), 0.68));
                    } else if cut == GarmentCut::Robe {
                        tubes.push(sleeve(cut, Bone::Forearm(s), Bone::Hand(s), 0.90));
                    }
                }
                Piece::Trousers => tubes.push(Tube {
                    field: skin_and(part(leg), 0.007, trouser(body, s)),
                    from: Bone::Shank(s),
                    to: Bone::Foot(s),
                    end: 0.94,
                    join: Join { at: hip * 0.35 + crotch * 0.65, reach: 0.36, k: 0.11, far: 0.006 },
                }),
            }
        }
        let hang = match piece {
            Piece::Top(cut) => vec![hanging(body, cut)],
            Piece::Trousers => Vec::new(),
        };
        Self { body, piece, under: of(under), hang: of(hang), tubes }
    }

    fn shell(&self) -> Shell {
        let (min, max) = self.body.extent();
        let room = Vec3::new(0.10, 0.03, 0.10);
        let mut max = max + room;
        max.y = max.y.min(match self.piece {
            Piece::Top(_) => self.body.posed.head().shift.y + 0.05,
            Piece::Trousers => {
                let knee = |s| self.body.posed.frame(Bone::Shank(s)).shift.y;
                self.waist().max(knee(0)).max(knee(1)) + 0.14
            }
        });
        let mut min = (min - room).max(Vec3::new(-9.0, -0.02, -9.0));
        if self.piece == Piece::Top(GarmentCut::Tunic) {
            let knee = |s| self.body.posed.frame(Bone::Shank(s)).shift.y;
            let hip = |s| self.body.posed.frame(Bone::Thigh(s)).shift.y;
            min.y = min.y.max(knee(0).min(knee(1)).min(hip(0)).min(hip(1)) - 0.2);
        }
        let whole = mesh(self, &Grid::even(min, max, CELL_M));
        let cut = main_piece(keep(&whole, |p| self.worn(p)));
        turn_in(&cut, |p| self.worn(p))
    }

    fn shows(&self, p: Vec3) -> f32 {
        let bare = 0.045 - self.worn(p);
        if bare > 0.0 {
            return bare;
        }
        let near = self.near(p, 0.02);
        bare.max(self.distance(&near, p) + 0.5 * CLOTH_M)
    }

    /// Height at which trousers end, hidden under the tunic.
    fn waist(&self) -> f32 {
        self.body.posed.frame(Bone::Pelvis).shift.y + 0.06
    }

    /// Positive where trousers are: below the waist, and wherever the thigh is nearer than the
    /// spine, so that a raised thigh stays clothed.
    fn below_waist(&self, p: Vec3) -> f32 {
        let pelvis = self.body.posed.frame(Bone::Pelvis).inverse().point(p);
        let thigh = SIDES.map(|s| self.along(Bone::Thigh(s), Bone::Shank(s), p).1);
        let nearer = self.off_spine(p) - thigh[0].min(thigh[1]) - 0.05;
        (0.06 - pelvis.y).max(nearer)
    }

    /// Distance from the line between the hips' middle and the neck.
    fn off_spine(&self, p: Vec3) -> f32 {
        let low = self.along(Bone::Pelvis, Bone::Chest, p).1;
        low.min(self.along(Bone::Chest, Bone::Neck, p).1)
    }

    /// Positive (about metres) where the layer is, negative beyond its edges.
    fn worn(&self, p: Vec3) -> f32 {
        let body = self.body;
        let mut worn = match self.piece {
            Piece::Top(cut) => {
                self.neckline(cut, body.posed.rest_move(Bone::Chest).inverse().point(p))
            }
            Piece::Trousers => self.below_waist(p),
        };
        for tube in &self.tubes {
            let (t, off, long) = self.along(tube.from, tube.to, p);
            let edge = (tube.end - t) * long;
            if edge.abs() < 0.05 && off < 0.25 {
                // Only the tube's own cloth ends here, not what hangs beside it.
                let own = tube.field.at(p).max(-edge - BEYOND_M)
                    - self.trunk(&self.under.near(p, 0.03), &self.hang.near(p, 0.03), p);
                worn = worn.min(edge.max(own));
            } else if self.piece == Piece::Trousers && edge < 0.0 && off < 0.12 {
                worn = worn.min(edge);
            }
        }
        if let Piece::Top(cut) = self.piece {
            // A skirt ends where the bones say, whichever leg is nearer.
            let [left, right] = SIDES.map(|s| {
                let (from, to, end) = match cut {
                    GarmentCut::Tunic => (Bone::Thigh(s), Bone::Shank(s), TUNIC_END),
                    _ => (Bone::Shank(s), Bone::Foot(s), 0.90),
                };
                let (t, off, long) = self.along(from, to, p);
                (off, (end - t) * long)
            });
            let wide = if cut == GarmentCut::Tunic { 0.05 } else { 0.22 };
            let w = ease(-wide, wide, left.0 - right.0);
            let hem = left.1 * (1.0 - w) + right.1 * w;
            // What hangs on the trunk has no hem, however high a knee is drawn up before it.
            // It runs on where the thigh is the nearer, as far as trousers begin there.
            let trunk = left.0.min(right.0) + LAP_M - self.off_spine(p);
            worn = worn.min(hem.max(trunk));
        }
        worn
    }

    /// The same at the upper edge, for a point on the resting chest.
    fn neckline(&self, cut: GarmentCut, chest: Vec3) -> f32 {
        let m = &self.body.measures;
        let x = chest.x.abs();
        if cut == GarmentCut::BareShoulders {
            // Drawn tight over the bust, a little lower between and behind.
            return 0.752 * m.stature
                + 0.010 * (x / 0.09).min(1.0)
                + 0.05 * chest.z
                + 0.003 * value(chest / 0.04)
                - chest.y;
        }
        // From under the notch in front, over the shoulders, to the nape.
        let t = ((0.085 - chest.z) / 0.165).clamp(-0.2, 1.2);
        let front = m.suprasternale_height
            - 0.030
            - 0.035 * (1.0 - (x / 0.07).min(1.0)).max(0.0) * ease(0.4, 0.0, t);
        let back = m.cervicale_height - 0.004;
        let below = front + (back - front) * t - chest.y;
        // An oval seen from above, round the neck.
        let oval = ((x / 0.090).powi(2) + ((chest.z - 0.020) / 0.105).powi(2)).sqrt();
        -smooth_min(-below, -(oval - 1.0) * 0.090, 0.030)
    }

    /// Trunk and skirt without tubes or folds.
    fn trunk(&self, under: &Near, hang: &Near, p: Vec3) -> f32 {
        smooth_min(self.under.distance(under, p) - EASE_M, self.hang.distance(hang, p), 0.04)
    }

    /// Where `p` lies along a bone (0 to 1), how far off it, and the bone's length.
    fn along(&self, from: Bone, to: Bone, p: Vec3) -> (f32, f32, f32) {
        let (a, b) = (self.body.posed.frame(from).shift, self.body.posed.frame(to).shift);
        let ab = b - a;
        let t = (p - a).dot(ab) / ab.length_squared();
        (t, (p - a - ab * t.clamp(0.0, 1.2)).length(), ab.length())
    }
}

impl Solid for Layer<'_> {
    type Near = NearCloth;

    fn near(&self, centre: Vec3, radius: f32) -> NearCloth {
        let reach = radius + 0.06;
        let tubes = self.tubes.iter().map(|tube| tube.field.near(centre, reach)).enumerate();
        NearCloth {
            under: self.under.near(centre, reach),
            hang: self.hang.near(centre, reach),
            tubes: tubes.filter(|(_, near)| !near.is_empty()).collect(),
        }
    }

    fn distance(&self, near: &NearCloth, p: Vec3) -> f32 {
        let mut hung = self.trunk(&near.under, &near.hang, p);
        for (i, near) in &near.tubes {
            let tube = &self.tubes[*i];
            let (t, _, long) = self.along(tube.from, tube.to, p);
            let beyond = (t - tube.end) * long - BEYOND_M;
            let cloth = tube.field.distance(near, p).max(beyond);
            hung = smooth_min(hung, cloth, tube.join.width(p));
        }
        if hung.abs() >= 0.06 {
            return 0.8 * hung;
        }
        // Toward the neck the cloth lies close, and smooth.
        let loose = match self.piece {
            Piece::Top(cut) => {
                let chest = self.body.posed.rest_move(Bone::Chest).inverse().point(p);
                ease(0.0, 0.07, self.neckline(cut, chest))
            }
            Piece::Trousers => 1.0,
        };
        0.8 * (hung + (1.0 - loose) * LAID_M - folds(self.body, self.piece, p) * loose)
    }
}

/// The part without what only skin shows: furrows, notch and navel.
fn without_dents(mut part: Part) -> Part {
    part.prims.retain(|prim| !matches!(prim.op, Op::Raise(_)));
    part
}

/// The part with its surface moved out by `by` metres.
fn raised(mut part: Part, by: f32) -> Part {
    let everywhere = Shape::Slab {
        centre: part.join.at,
        axes: glam::Mat3::IDENTITY,
        half: Vec3::splat(2.0),
        round: 0.0,
    };
    part.prims.push(Prim { shape: everywhere, op: Op::Raise(by) });
    part
}

fn bar(a: Vec3, b: Vec3, radii: [f32; 4], k: f32) -> Prim {
    Prim { shape: Shape::Limb { a, b, radii, flat_axis: Vec3::X, flat: 1.0 }, op: Op::Add(k) }
}

fn sleeve(body: &Body, cut: GarmentCut, s: usize) -> Vec<Prim> {
    let at = |bone: Bone| body.posed.frame(bone).shift;
    let (shoulder, elbow, wrist) = (at(Bone::UpperArm(s)), at(Bone::Forearm(s)), at(Bone::Hand(s)));
    let drop = body.posed.frame(Bone::Chest).direction(Vec3::Y) * 0.018;
    if cut == GarmentCut::Tunic {
        return vec![bar(
            shoulder.lerp(elbow, 0.30),
            elbow - 0.3 * drop,
            [0.60, 0.98, 1.16, 1.30].map(|share| share * body.measures.biceps_girth / TAU),
            0.03,
        )];
    }
    vec![
        bar(shoulder.lerp(elbow, 0.22), elbow - 0.4 * drop, [0.036, 0.054, 0.057, 0.058], 0.03),
        bar(elbow - 0.4 * drop, wrist - 0.3 * drop, [0.058, 0.060, 0.062, 0.066], 0.05),
        bar(elbow - drop, wrist - 2.0 * drop, [0.040, 0.046, 0.056, 0.066], 0.06),
    ]
}

fn trouser(body: &Body, s: usize) -> Vec<Prim> {
    let at = |bone: Bone| body.posed.frame(bone).shift;
    let (hip, knee, ankle) = (at(Bone::Thigh(s)), at(Bone::Shank(s)), at(Bone::Foot(s)));
    let r = body.measures.thigh_girth / TAU;
    vec![
        bar(hip, knee, [1.04 * r, 1.06 * r, 0.86 * r, 0.80 * r], 0.04),
        bar(knee, knee.lerp(ankle, 1.05), [0.80 * r, 0.80 * r, 0.82 * r, 0.84 * r], 0.04),
    ]
}

/// Forms trunk and skirt hang in where they leave the body.
fn hanging(body: &Body, cut: GarmentCut) -> Part {
    let m = &body.measures;
    let at = |bone: Bone| body.posed.frame(bone).shift;
    let r = m.thigh_girth / TAU;
    let mut prims = Vec::new();
    let (chest, pelvis) = (at(Bone::Chest), at(Bone::Pelvis));
    if cut != GarmentCut::BareShoulders {
        // From its fullest point the cloth hangs straight down: wider than the waist, as deep as
        // the bust; and it spans the hollow between the breasts.
        let chest_frame = body.posed.rest_move(Bone::Chest);
        let pelvis_frame = body.posed.rest_move(Bone::Pelvis);
        let h = m.stature;
        let (half, deep) = (0.5 * m.chest_breadth + 0.004, 0.5 * m.chest_depth + 0.012);
        let forward = Vec3::Z * (0.006 + 0.010 * (1.0 - m.male));
        prims.push(Prim {
            shape: Shape::Limb {
                a: chest_frame.point(Vec3::new(0.0, 0.700 * h, 0.0) + forward),
                b: pelvis_frame.point(Vec3::new(0.0, 0.520 * h, 0.0) + forward),
                radii: [0.90 * half, half, 1.02 * half, 1.10 * half],
                flat_axis: chest_frame.direction(Vec3::Z),
                flat: deep / half,
            },
            op: Op::Add(0.05),
        });
        let across = 0.5 * m.chest_breadth;
        prims.push(Prim {
            shape: Shape::Ellipsoid {
                centre: chest_frame.point(Vec3::new(0.0, 0.724 * h, 0.28 * m.chest_depth)),
                axes: chest_frame.turn,
                radii: Vec3::new(
                    0.52 * across + 0.050,
                    0.062,
                    0.042 + 0.026 * (1.0 - m.male) + 0.006 * m.build.max(-0.5),
                ),
            },
            op: Op::Add(0.05),
        });
    }
    for s in SIDES {
        let (hip, knee, ankle) = (at(Bone::Thigh(s)), at(Bone::Shank(s)), at(Bone::Foot(s)));
        if cut == GarmentCut::Tunic {
            // The tunic's own skirt, to mid-thigh.
            let radii = [1.14 * r, 1.20 * r, 1.26 * r, 1.32 * r];
            prims.push(bar(pelvis.lerp(hip, 0.7), hip.lerp(knee, 0.66), radii, 0.10));
        } else {
            let radii = [1.02 * r, 0.98 * r, 0.92 * r, 0.90 * r];
            prims.push(bar(hip, knee, radii, 0.16));
            let radii = [0.90 * r, 0.98 * r, 1.10 * r, 1.24 * r];
            prims.push(bar(knee, knee.lerp(ankle, 1.05), radii, 0.16));
        }
    }
    if cut != GarmentCut::Tunic {
        // The skirt spans between the legs.
        let mid = |a: Bone, b: Bone| (at(a) + at(b)) * 0.5;
        let knees = mid(Bone::Shank(0), Bone::Shank(1));
        let ankles = mid(Bone::Foot(0), Bone::Foot(1));
        prims.push(bar(pelvis, knees, [1.0 * r, 0.98 * r, 0.94 * r, 0.92 * r], 0.16));
        prims.push(bar(
            knees,
            knees.lerp(ankles, 1.05),
            [0.92 * r, 1.02 * r, 1.20 * r, 1.40 * r],
            0.16,
        ));
    }
    Part { prims, join: Join { at: chest, reach: 1.0, k: 0.0, far: 0.0 } }
}
