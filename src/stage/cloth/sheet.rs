//! A rectangular grid of points in space: the form every cloth takes before it is a mesh.

use glam::Vec3;
use rayon::prelude::*;

use crate::optics::surface::Surface;
use crate::stage::{Mesh, Role};

/// A grid of points, row after row. Its front is where columns × downward rows turn counter-clockwise:
///
/// ```text
///   (0,0) ── columns ──►
///     │  seen from the front
///    rows
///     ▼
/// ```
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Points in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Row-major points, metres.
    pub points: Vec<Vec3>,
}

impl Sheet {
    /// Evaluates `point(column, row)` over the grid on all cores.
    pub fn from_fn(
        columns: usize,
        rows: usize,
        point: impl Fn(usize, usize) -> Vec3 + Sync,
    ) -> Self {
        let points =
            (0..columns * rows).into_par_iter().map(|i| point(i % columns, i / columns)).collect();
        Self { columns, rows, points }
    }

    /// The point at a column and row, clamped to the grid.
    fn at(&self, column: isize, row: isize) -> Vec3 {
        let column = column.clamp(0, self.columns as isize - 1) as usize;
        let row = row.clamp(0, self.rows as isize - 1) as usize;
        self.points[row * self.columns + column]
    }

    /// Unit normals on the front side from central differences along both directions.
    pub fn normals(&self) -> Vec<Vec3> {
        (0..self.points.len())
            .into_par_iter()
            .map(|i| {
                let (c, r) = ((i % self.columns) as isize, (i / self.columns) as isize);
                let along = self.at(c + 1, r) - self.at(c - 1, r);
                let down = self.at(c, r + 1) - self.at(c, r - 1);
                down.cross(along).normalize_or(Vec3::Y)
            })
            .collect()
    }

    /// A grid `by` times finer through the same points (Catmull & Rom 1974, tension ½).
    pub fn refined(&self, by: usize) -> Self {
        let columns = (self.columns - 1) * by + 1;
        let rows = (self.rows - 1) * by + 1;
        let weights: Vec<[f32; 4]> = (0..by)
            .map(|k| {
                let t = k as f32 / by as f32;
                let (t2, t3) = (t * t, t * t * t);
                [
                    0.5 * (-t3 + 2.0 * t2 - t),
                    0.5 * (3.0 * t3 - 5.0 * t2 + 2.0),
                    0.5 * (-3.0 * t3 + 4.0 * t2 + t),
                    0.5 * (t3 - t2),
                ]
            })
            .collect();
        Self::from_fn(columns, rows, |column, row| {
            let (c, r) = ((column / by) as isize, (row / by) as isize);
            let (wc, wr) = (&weights[column % by], &weights[row % by]);
            let mut point = Vec3::ZERO;
            for (j, w_row) in wr.iter().enumerate() {
                for (i, w_column) in wc.iter().enumerate() {
                    point += self.at(c + i as isize - 1, r + j as isize - 1) * (w_row * w_column);
                }
            }
            point
        })
    }

    /// The cloth as a mesh with smooth normals.
    pub fn into_mesh(self, name: &str, surface: Surface) -> Mesh {
        let normals = self.normals();
        let mut triangles = Vec::with_capacity(2 * (self.columns - 1) * (self.rows - 1));
        for row in 0..self.rows - 1 {
            for column in 0..self.columns - 1 {
                let i = (row * self.columns + column) as u32;
                let below = i + self.columns as u32;
                // alternate diagonals, so that no direction of shear is favoured
                if (row + column) % 2 == 0 {
                    triangles.push([i, below, i + 1]);
                    triangles.push([i + 1, below, below + 1]);
                } else {
                    triangles.push([i, below, below + 1]);
                    triangles.push([i, below + 1, i + 1]);
                }
            }
        }
        Mesh {
            name: name.into(),
            role: Role::Cloth,
            positions: self.points,
            normals,
            tints: Vec::new(),
            triangles,
            surface,
        }
    }
}

/// How many points span `length` metres at `spacing` or closer.
pub fn points_over(length: f32, spacing: f32) -> usize {
    (length / spacing).ceil().max(1.0) as usize + 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::surface::Surface;

    #[test]
    fn a_flat_sheet_faces_the_camera_with_normals_and_winding() {
        let sheet = Sheet::from_fn(5, 4, |c, r| Vec3::new(c as f32, -(r as f32), 0.0));
        let mesh = sheet.into_mesh("flat", Surface::diffuse("flat", Vec3::ONE));
        assert!(mesh.normals.iter().all(|n| (*n - Vec3::Z).length() < 1e-6));
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|i| mesh.positions[i as usize]);
            assert!((b - a).cross(c - a).z > 0.0);
        }
    }

    #[test]
    fn refining_keeps_the_points_and_reproduces_a_plane() {
        let sheet = Sheet::from_fn(6, 6, |c, r| Vec3::new(c as f32, 0.3 * c as f32, r as f32));
        let fine = sheet.refined(3);
        assert_eq!((fine.columns, fine.rows), (16, 16));
        assert!((fine.points[3 * 16 + 3] - sheet.points[7]).length() < 1e-6);
        let inner = fine.points[7 * 16 + 8];
        assert!((inner.y - 0.3 * inner.x).abs() < 1e-5);
    }
}
