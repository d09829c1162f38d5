//! Makes a mesh manifold: where surface nets put two sheets of one surface on one vertex or one
//! edge, each sheet gets vertices of its own at the same place. And finds a mesh's main piece.
//!
//! In: a [`Shell`]. Out: the same surface, no edge used twice the same way round.

use std::collections::{HashMap, HashSet};

use glam::Vec3;
use rayon::prelude::*;

use super::mesher::Shell;

/// The roots of a forest, by union and find with halved paths.
struct Sets(Vec<u32>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }

    fn root(&mut self, mut i: u32) -> u32 {
        while self.0[i as usize] != i {
            let up = self.0[self.0[i as usize] as usize];
            self.0[i as usize] = up;
            i = up;
        }
        i
    }

    fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b) as usize] = a.min(b);
    }
}

/// A triangle's side: its ends, lower first; whether it runs from the lower; its first corner.
type Side = (u32, u32, bool, u32);

/// Splits vertices and edges that two sheets share.
pub fn unpinch(mut shell: Shell) -> Shell {
    // A face with two such edges has them parted one a round.
    while !part_sheets(&mut shell) {}
    shell
}

/// Whether that was all of them.
fn part_sheets(shell: &mut Shell) -> bool {
    let mut sides: Vec<Side> = shell
        .triangles
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, t)| {
            (0..3).map(move |k| {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                (a.min(b), a.max(b), a < b, (3 * i + k) as u32)
            })
        })
        .collect();
    sides.par_sort_unstable();
    // Corners that belong to one sheet about one vertex.
    let mut sheets = Sets::new(3 * shell.triangles.len());
    let mut touching = Vec::new();
    for group in sides.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let (back, forth) = group.split_at(group.partition_point(|side| !side.2));
        let mut free: Vec<u32> = back.iter().map(|side| side.3).collect();
        for side in forth {
            // Two sheets that touch: each face goes on into the one that bends least.
            let bend = |other: &u32| face(shell, side.3).dot(face(shell, *other));
            let Some(i) =
                (0..free.len()).max_by(|a, b| bend(&free[*a]).total_cmp(&bend(&free[*b])))
            else {
                break;
            };
            let other = free.swap_remove(i);
            sheets.unite(side.3, next(other));
            sheets.unite(next(side.3), other);
            if !free.is_empty() {
                touching.push((side.3, other));
            }
        }
    }
    let mut owner = vec![u32::MAX; shell.positions.len()];
    let mut copies: HashMap<(u32, u32), u32> = HashMap::new();
    for i in 0..shell.triangles.len() {
        for k in 0..3 {
            let v = shell.triangles[i][k];
            let sheet = sheets.root((3 * i + k) as u32);
            let first = &mut owner[v as usize];
            if *first == u32::MAX {
                *first = sheet;
            }
            if *first != sheet {
                shell.triangles[i][k] = *copies.entry((v, sheet)).or_insert_with(|| {
                    let (p, n) = (shell.positions[v as usize], shell.normals[v as usize]);
                    shell.positions.push(p);
                    shell.normals.push(n);
                    shell.positions.len() as u32 - 1
                });
            }
        }
    }
    part_edges(shell, &touching)
}

/// The next corner of the same triangle.
fn next(corner: u32) -> u32 {
    corner - corner % 3 + (corner + 1) % 3
}

/// Where two sheets touch along an edge and grow together at both its ends, splitting vertices
/// leaves the edge shared: one sheet's pair of faces gets a vertex in the middle of it.
fn part_edges(shell: &mut Shell, pairs: &[(u32, u32)]) -> bool {
    let mut done = HashSet::new();
    let mut all = true;
    for &(here, there) in pairs {
        if done.contains(&(here / 3)) || done.contains(&(there / 3)) {
            all = false;
            continue;
        }
        let corner = |shell: &Shell, c: u32| shell.triangles[c as usize / 3][c as usize % 3];
        let (a, b) = (corner(shell, here) as usize, corner(shell, next(here)) as usize);
        let middle = shell.positions.len() as u32;
        shell.positions.push((shell.positions[a] + shell.positions[b]) * 0.5);
        shell.normals.push((shell.normals[a] + shell.normals[b]).normalize_or(shell.normals[a]));
        for side in [here, there] {
            done.insert(side / 3);
            let mut second = shell.triangles[side as usize / 3];
            second[side as usize % 3] = middle;
            shell.triangles.push(second);
            let end = next(side);
            shell.triangles[end as usize / 3][end as usize % 3] = middle;
        }
    }
    all
}

fn face(shell: &Shell, corner: u32) -> Vec3 {
    let [a, b, c] = shell.triangles[corner as usize / 3].map(|i| shell.positions[i as usize]);
    (b - a).cross(c - a).normalize_or_zero()
}

/// The shell's largest piece, and those at least a fifth as large: the rest a cut left over.
pub fn main_piece(mut shell: Shell) -> Shell {
    let mut pieces = Sets::new(shell.positions.len());
    for t in &shell.triangles {
        pieces.unite(t[0], t[1]);
        pieces.unite(t[0], t[2]);
    }
    let mut areas = vec![0.0f32; shell.positions.len()];
    for t in &shell.triangles {
        let [a, b, c] = t.map(|i| shell.positions[i as usize]);
        areas[pieces.root(t[0]) as usize] += 0.5 * (b - a).cross(c - a).length();
    }
    let least = 0.2 * areas.iter().fold(0.0f32, |most, area| most.max(*area));
    shell.triangles.retain(|t| areas[pieces.root(t[0]) as usize] >= least);
    // Vertices that nothing uses any more go too.
    let mut place = vec![u32::MAX; shell.positions.len()];
    let (mut positions, mut normals) = (Vec::new(), Vec::new());
    for t in &mut shell.triangles {
        for v in t {
            let old = *v as usize;
            if place[old] == u32::MAX {
                place[old] = positions.len() as u32;
                positions.push(shell.positions[old]);
                normals.push(shell.normals[old]);
            }
            *v = place[old];
        }
    }
    Shell { positions, normals, triangles: shell.triangles }
}
