//! Cloth thrown over boxes: simulated coarse, then refined, kept out of the boxes and creased.

use glam::{Vec2, Vec3};

use super::FLOOR_M;
use super::crumple::Crumple;
use super::noise::{Rng, smoothstep};
use super::sheet::{Sheet, points_over};
use super::xpbd::{Ground, Hinge, Solver, Thread};
use crate::plan::Cloth;
use crate::stage::room::Block;

/// Particles that fall; their spacing follows, within these bounds in metres.
const PARTICLES: f32 = 5000.0;
const COARSE_M: [f32; 2] = [0.022, 0.06];
/// Spacing of the finished mesh, metres.
const FINE_M: f32 = 0.0095;
/// Radius to which the cloth bends round a box's edge and corner, and the gap it keeps to its
/// faces, metres. Triangles of the finished mesh sag 1.4 mm below that radius (spacing²/8r, on the
/// diagonal) and so stay clear of the bevelled edges, which lie r·(√2 − 1) − gap inside.
const EDGE_M: f32 = 0.009;
const GAP_M: f32 = 0.007;
/// Height of falling particles above the floor, metres.
const LIE_M: f32 = 0.003;
/// Ten-ounce canvas, kg/m² (10 oz/yd²).
const MASS_KG_M2: f32 = 0.339;
/// Its bending length (ASTM D1388), metres: B = W·g·c³. Canvas 45 mm, limp cloth 20 mm.
const BENDING_LENGTH_M: [f32; 2] = [0.045, 0.022];
/// Substeps a second of the simulation.
const RATE: f32 = 700.0;
/// Substeps a second of the finer cloth, whose lighter particles stretch more in a step.
const FINE_RATE: f32 = 2400.0;

/// The settled cloth in world metres.
pub fn sheet(cloth: &Cloth, blocks: &[Block], overhang: f32) -> Sheet {
    let mut rng = Rng::new(cloth.seed, 0x0E2);
    let lead = blocks[0];
    let blocks: Vec<Block> = blocks.iter().map(rooted).collect();
    let blocks = blocks.as_slice();
    let mut low = Vec2::MAX;
    let mut high = Vec2::MIN;
    let mut top = 0f32;
    for block in blocks {
        for foot in block.footprint() {
            let own = lead.own_from_world(foot);
            low = low.min(Vec2::new(own.x, own.z));
            high = high.max(Vec2::new(own.x, own.z));
        }
        top = top.max(block.centre.y + block.half.y);
    }
    let size = high - low + Vec2::splat(2.0 * overhang);
    // nobody throws a cloth square
    let turn = Vec2::from_angle(rng.between(-0.12, 0.12));
    let centre = 0.5 * (low + high)
        + Vec2::new(rng.between(-0.08, 0.08), rng.between(-0.08, 0.08)) * overhang;
    let coarse = (size.x * size.y / PARTICLES).sqrt().clamp(COARSE_M[0], COARSE_M[1]);
    let columns = points_over(size.x, coarse);
    let rows = points_over(size.y, coarse);
    let (ripple_a, ripple_b) = (rng.noise(), rng.noise());
    let start = Sheet::from_fn(columns, rows, |column, row| {
        let p = Vec2::new(
            size.x * (column as f32 / (columns - 1) as f32 - 0.5),
            size.y * (row as f32 / (rows - 1) as f32 - 0.5),
        );
        let own = centre + turn.rotate(p);
        let world = lead.centre + lead.world_from_own(Vec3::new(own.x, 0.0, own.y));
        let ripple =
            0.012 * ripple_a.at(p.x / 0.3, p.y / 0.3) + 0.004 * ripple_b.at(p.x / 0.09, p.y / 0.09);
        Vec3::new(world.x, top + 0.02 + ripple, world.z)
    });
    let fabric = Weave { size, blocks, folds: cloth.folds as f32 };
    let fallen = fabric.run(start, RATE, &[(1.1, 1.2), (0.4, 8.0)]);
    // the finer cloth finds the boxes' edges and its own small folds
    let refine = (coarse / FINE_M).ceil() as usize;
    let settled = fabric.run(fallen.refined(refine), FINE_RATE, &[(0.025, 30.0)]);
    finish(settled, size, blocks, cloth)
}

/// The core of a block that cloth keeps [`EDGE_M`] + [`GAP_M`] from, which rounds its edges. It is
/// grown downward, so that the shortest way out is never through what it stands on.
fn rooted(block: &Block) -> Block {
    let base = block.centre.y - block.half.y;
    let root = if base < 0.05 { 1.0 } else { 0.1 };
    let core = block.grown(-EDGE_M.min(0.5 * block.half.min_element()));
    Block {
        centre: core.centre - Vec3::Y * (0.5 * root),
        half: core.half + Vec3::Y * (0.5 * root),
        ..core
    }
}

/// The cloth as the solver sees it.
struct Weave<'a> {
    size: Vec2,
    blocks: &'a [Block],
    folds: f32,
}

impl Weave<'_> {
    /// Lets the cloth move for (seconds, air drag per second) in turn, `rate` substeps a second.
    fn run(&self, start: Sheet, rate: f32, spells: &[(f32, f32)]) -> Sheet {
        let (columns, rows) = (start.columns, start.rows);
        let mut solver = self.solver(start);
        for (seconds, drag) in spells {
            solver.run((seconds * rate) as usize, 1.0 / rate, *drag);
        }
        Sheet { columns, rows, points: solver.positions }
    }

    fn solver(&self, start: Sheet) -> Solver {
        let (columns, rows) = (start.columns, start.rows);
        let (hx, hz) = (self.size.x / (columns - 1) as f32, self.size.y / (rows - 1) as f32);
        let ground = Ground {
            blocks: self.blocks.to_vec(),
            floor_m: Some(LIE_M),
            gap_m: EDGE_M + GAP_M,
            friction: 0.55,
            layers_m: 0.6 * hx.min(hz),
        };
        let count = columns * rows;
        let mut solver =
            Solver::new(start.points, vec![1.0 / (MASS_KG_M2 * hx * hz); count], ground);
        let bending_length =
            BENDING_LENGTH_M[0] + (BENDING_LENGTH_M[1] - BENDING_LENGTH_M[0]) * self.folds;
        let rigidity = MASS_KG_M2 * 9.80665 * bending_length.powi(3);
        let at = |column: usize, row: usize| (row * columns + column) as u32;
        let diagonal = (hx * hx + hz * hz).sqrt();
        for row in 0..rows {
            for column in 0..columns {
                let here = at(column, row);
                let mut thread = |to: u32, rest_m: f32, compliance: f32| {
                    solver.threads.push(Thread { ends: [here, to], rest_m, compliance });
                };
                if column + 1 < columns {
                    thread(at(column + 1, row), hx, 0.0);
                }
                if row + 1 < rows {
                    thread(at(column, row + 1), hz, 0.0);
                }
                // a weave shears far more easily than it stretches
                if column + 1 < columns && row + 1 < rows {
                    thread(at(column + 1, row + 1), diagonal, 0.03);
                    solver.threads.push(Thread {
                        ends: [at(column + 1, row), at(column, row + 1)],
                        rest_m: diagonal,
                        compliance: 0.03,
                    });
                }
                if column + 2 < columns {
                    let compliance = hx.powi(3) / (rigidity * hz);
                    let points = [here, at(column + 1, row), at(column + 2, row)];
                    solver.hinges.push(Hinge { points, compliance });
                }
                if row + 2 < rows {
                    let compliance = hz.powi(3) / (rigidity * hx);
                    let points = [here, at(column, row + 1), at(column, row + 2)];
                    solver.hinges.push(Hinge { points, compliance });
                }
            }
        }
        solver
    }
}

/// Creased, and outside of the boxes.
fn finish(sheet: Sheet, size: Vec2, blocks: &[Block], cloth: &Cloth) -> Sheet {
    let normals = sheet.normals();
    let crumple = Crumple::new(size, cloth.creases as f32, cloth.seed);
    let (columns, rows) = (sheet.columns, sheet.rows);
    let mut creased = Sheet::from_fn(columns, rows, |column, row| {
        let i = row * columns + column;
        let p = Vec2::new(
            size.x * (column as f32 / (columns - 1) as f32 - 0.5),
            size.y * (row as f32 / (rows - 1) as f32 - 0.5),
        );
        let point = sheet.points[i];
        let free = blocks.iter().map(|b| b.distance(point).0 - EDGE_M).fold(point.y, f32::min);
        let amount = 0.35 + 0.45 * smoothstep(GAP_M, 0.06, free);
        point + normals[i] * (amount * crumple.height(p))
    });
    keep_out(&mut creased, blocks);
    creased
}

/// Moves points out of the boxes and off the floor.
fn keep_out(sheet: &mut Sheet, blocks: &[Block]) {
    for point in &mut sheet.points {
        for block in blocks {
            let (distance, way) = block.distance(*point);
            let gap = EDGE_M + GAP_M;
            if distance < gap {
                *point += way * (gap - distance);
            }
        }
        point.y = point.y.max(FLOOR_M);
    }
}
