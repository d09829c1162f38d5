//! Solid → triangles: surface nets on a rectilinear grid whose lines may lie closer where the
//! form is finer, then every vertex is brought onto the surface and given the field's normal.
//!
//! In: a [`Solid`] and a [`Grid`]. Out: a [`Shell`], closed unless it leaves the grid. Whole
//! blocks of cells that cannot hold surface are skipped.

use fast_surface_nets::ndshape::{RuntimeShape, Shape as _};
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::Vec3;
use rayon::prelude::*;

use super::unpinch::unpinch;

/// Something with a signed distance in metres (negative inside, slope about 1 near the surface).
pub trait Solid: Sync {
    /// What matters near one block.
    type Near: Send + Sync;
    /// What can touch a ball.
    fn near(&self, centre: Vec3, radius: f32) -> Self::Near;
    /// Distance at a point of that ball.
    fn distance(&self, near: &Self::Near, p: Vec3) -> f32;
}

/// Grid lines along the three axes, rising, in metres.
#[derive(Debug, Clone)]
pub struct Grid {
    /// Lines along x, y, z.
    pub lines: [Vec<f32>; 3],
}

impl Grid {
    /// Even lines over a box.
    pub fn even(min: Vec3, max: Vec3, step: f32) -> Self {
        let axis = |a: usize| graded(&[(min[a], step), (max[a], step)]);
        Self { lines: [axis(0), axis(1), axis(2)] }
    }
}

/// Lines through knots of (position, wanted spacing), the spacing changing evenly between.
pub fn graded(knots: &[(f32, f32)]) -> Vec<f32> {
    let mut lines = vec![knots[0].0];
    let end = knots[knots.len() - 1].0;
    let mut i = 0;
    while let Some(&at) = lines.last()
        && at < end
    {
        while i + 2 < knots.len() && at >= knots[i + 1].0 {
            i += 1;
        }
        let ((x0, s0), (x1, s1)) = (knots[i], knots[i + 1]);
        let t = ((at - x0) / (x1 - x0)).clamp(0.0, 1.0);
        lines.push(at + s0 + (s1 - s0) * t);
    }
    lines
}

/// Triangles of one smooth surface.
#[derive(Debug, Clone, Default)]
pub struct Shell {
    /// Metres.
    pub positions: Vec<Vec3>,
    /// Unit, outward.
    pub normals: Vec<Vec3>,
    /// Counter-clockwise from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// Cells along a block's edge.
const BLOCK: usize = 8;
/// Step of the finite difference that gives the gradient.
const GRADIENT_STEP_M: f32 = 1.0e-4;

/// Meshes the part of `solid` inside `grid`.
pub fn mesh<S: Solid>(solid: &S, grid: &Grid) -> Shell {
    let counts: [usize; 3] = std::array::from_fn(|a| grid.lines[a].len());
    let blocks: [usize; 3] = std::array::from_fn(|a| counts[a].div_ceil(BLOCK));
    let shape = RuntimeShape::<u32, 3>::new(counts.map(|n| n as u32));

    let evaluated: Vec<(Option<S::Near>, Vec<f32>, f32)> = (0..blocks[0] * blocks[1] * blocks[2])
        .into_par_iter()
        .map(|b| evaluate_block(solid, grid, &Span::of(b, blocks, counts)))
        .collect();

    let mut field = vec![0.0f32; shape.size() as usize];
    for (b, (_, values, fill)) in evaluated.iter().enumerate() {
        let span = Span::of(b, blocks, counts);
        let mut i = 0;
        span.each(|x, y, z| {
            let value = values.get(i).copied().unwrap_or(*fill);
            field[shape.linearize([x as u32, y as u32, z as u32]) as usize] = value;
            i += 1;
        });
    }

    let mut net = SurfaceNetsBuffer::default();
    surface_nets(&field, &shape, [0; 3], counts.map(|n| n as u32 - 1), &mut net);

    let settled: Vec<(Vec3, Vec3)> = net
        .positions
        .par_iter()
        .zip(&net.surface_points)
        .map(|(at, cell)| {
            let mut p = Vec3::ZERO;
            let mut size = f32::MAX;
            for a in 0..3 {
                let i = cell[a] as usize;
                let (l0, l1) = (grid.lines[a][i], grid.lines[a][i + 1]);
                p[a] = l0 + (l1 - l0) * (at[a] - i as f32);
                size = size.min(l1 - l0);
            }
            let b: [usize; 3] = std::array::from_fn(|a| cell[a] as usize / BLOCK);
            let index = b[0] + blocks[0] * (b[1] + blocks[1] * b[2]);
            match &evaluated[index].0 {
                Some(near) => settle(solid, near, p, size),
                None => settle(solid, &solid.near(p, 2.0 * size), p, size),
            }
        })
        .collect();

    let (positions, normals) = settled.into_iter().unzip();
    let triangles = net.indices.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
    let mut shell = unpinch(Shell { positions, normals, triangles });
    mend(&mut shell);
    shell
}

/// Cosine between a vertex's normal and that of the faces about it below which the field has a
/// kink there that the net does not follow.
const AGREE_COS: f32 = 0.7;

/// Where two parts of a solid meet in a kink finer than the grid, a vertex may take the slope of
/// the part that does not show: a dark speck on lit cloth. Such a vertex goes to the middle of
/// its neighbours and looks where its faces look.
fn mend(shell: &mut Shell) {
    let faces = |shell: &Shell| {
        let mut sums = vec![Vec3::ZERO; shell.positions.len()];
        for t in &shell.triangles {
            let [a, b, c] = t.map(|i| shell.positions[i as usize]);
            let area = (b - a).cross(c - a);
            t.iter().for_each(|&i| sums[i as usize] += area);
        }
        sums
    };
    let sums = faces(shell);
    let kinked: Vec<bool> = sums
        .iter()
        .zip(&shell.normals)
        .map(|(sum, normal)| sum.normalize_or(*normal).dot(*normal) < AGREE_COS)
        .collect();
    if !kinked.contains(&true) {
        return;
    }
    let mut middles = vec![(Vec3::ZERO, 0.0f32); shell.positions.len()];
    for t in &shell.triangles {
        for k in 0..3 {
            let (i, next) = (t[k] as usize, t[(k + 1) % 3] as usize);
            if kinked[i] {
                middles[i].0 += shell.positions[next];
                middles[i].1 += 1.0;
            }
        }
    }
    for (i, (sum, count)) in middles.into_iter().enumerate() {
        if count > 0.0 {
            shell.positions[i] = sum / count;
        }
    }
    let sums = faces(shell);
    for i in (0..kinked.len()).filter(|&i| kinked[i]) {
        shell.normals[i] = sums[i].normalize_or(shell.normals[i]);
    }
}

/// The grid points a block owns.
struct Span {
    from: [usize; 3],
    to: [usize; 3],
}

impl Span {
    fn of(block: usize, blocks: [usize; 3], counts: [usize; 3]) -> Self {
        let b = [block % blocks[0], block / blocks[0] % blocks[1], block / (blocks[0] * blocks[1])];
        Self {
            from: b.map(|i| i * BLOCK),
            to: std::array::from_fn(|a| ((b[a] + 1) * BLOCK).min(counts[a])),
        }
    }

    /// The same points in up to eight smaller spans.
    fn eighths(&self) -> impl Iterator<Item = Self> {
        let (from, to) = (self.from, self.to);
        (0..8usize).filter_map(move |k| {
            let half = |a: usize| (from[a] + BLOCK / 2).min(to[a]);
            let upper = |a: usize| k >> a & 1 == 1;
            let part = Self {
                from: std::array::from_fn(|a| if upper(a) { half(a) } else { from[a] }),
                to: std::array::from_fn(|a| if upper(a) { to[a] } else { half(a) }),
            };
            (0..3).all(|a| part.from[a] < part.to[a]).then_some(part)
        })
    }

    fn each(&self, mut visit: impl FnMut(usize, usize, usize)) {
        for z in self.from[2]..self.to[2] {
            for y in self.from[1]..self.to[1] {
                for x in self.from[0]..self.to[0] {
                    visit(x, y, z);
                }
            }
        }
    }
}

fn evaluate_block<S: Solid>(
    solid: &S,
    grid: &Grid,
    span: &Span,
) -> (Option<S::Near>, Vec<f32>, f32) {
    let corner = |at: [usize; 3]| {
        let i: [usize; 3] = std::array::from_fn(|a| at[a].min(grid.lines[a].len() - 1));
        Vec3::new(grid.lines[0][i[0]], grid.lines[1][i[1]], grid.lines[2][i[2]])
    };
    // One cell beyond the block, where its last vertices may lie.
    let (min, max) = (corner(span.from), corner(span.to));
    let (centre, radius) = ((min + max) * 0.5, (max - min).length() * 0.5 + 1e-3);
    let near = solid.near(centre, radius);
    let middle = solid.distance(&near, centre);
    if middle.abs() > 1.5 * radius {
        return (None, Vec::new(), middle);
    }
    let size: [usize; 3] = std::array::from_fn(|a| span.to[a] - span.from[a]);
    let mut values = vec![middle; size[0] * size[1] * size[2]];
    for part in span.eighths() {
        let (min, max) = (corner(part.from), corner(part.to.map(|i| i - 1)));
        let (centre, radius) =
            ((min + max) * 0.5, (max - min).length() * 0.5 + cell_of(grid, &part));
        let middle = solid.distance(&near, centre);
        let far = middle.abs() > 1.5 * radius;
        part.each(|x, y, z| {
            let at =
                (x - span.from[0]) + size[0] * ((y - span.from[1]) + size[1] * (z - span.from[2]));
            values[at] = if far { middle } else { solid.distance(&near, corner([x, y, z])) };
        });
    }
    (Some(near), values, middle)
}

/// The longest spacing of the grid's lines at a span's start.
fn cell_of(grid: &Grid, span: &Span) -> f32 {
    (0..3)
        .map(|a| {
            let i = span.from[a].min(grid.lines[a].len() - 2);
            grid.lines[a][i + 1] - grid.lines[a][i]
        })
        .fold(0.0, f32::max)
}

/// Brings a vertex onto the surface along the gradient, never farther than a cell.
fn settle<S: Solid>(solid: &S, near: &S::Near, start: Vec3, cell: f32) -> (Vec3, Vec3) {
    let mut d = solid.distance(near, start);
    let mut p = start;
    // Two steps share a slope: near a smooth form the first slope is enough.
    for _ in 0..3 {
        // One-sided differences do for the way there; the normal gets central ones.
        let slope =
            |axis: Vec3| (solid.distance(near, p + axis * GRADIENT_STEP_M) - d) / GRADIENT_STEP_M;
        let g = Vec3::new(slope(Vec3::X), slope(Vec3::Y), slope(Vec3::Z));
        let slope2 = g.length_squared();
        for _ in 0..2 {
            if d.abs() > 1e-5 && slope2 > 1e-4 {
                p -= g * (d / slope2);
                d = solid.distance(near, p);
            }
        }
        if d.abs() < 1e-5 || slope2 < 1e-4 {
            break;
        }
    }
    let moved = p - start;
    if moved.length() > cell {
        p = start + moved * (cell / moved.length());
    }
    (p, gradient(solid, near, p).normalize_or(Vec3::Y))
}

fn gradient<S: Solid>(solid: &S, near: &S::Near, p: Vec3) -> Vec3 {
    let h = GRADIENT_STEP_M;
    let slope = |axis: Vec3| {
        (solid.distance(near, p + axis * h) - solid.distance(near, p - axis * h)) / (2.0 * h)
    };
    Vec3::new(slope(Vec3::X), slope(Vec3::Y), slope(Vec3::Z))
}
