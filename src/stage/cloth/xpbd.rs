//! Cloth that falls: position-based dynamics with compliance (Macklin, Müller & Chentanez 2016,
//! XPBD), one iteration a substep (Macklin et al. 2019, Small Steps in Physics Simulation).
//!
//! In: particles, threads that keep their length, hinges that resist bending, blocks and a floor
//! to fall on. Out: the particles at rest. Serial and in a fixed order, so it repeats exactly.

use glam::{UVec3, Vec3};

use crate::stage::room::Block;

/// Standard gravity, m/s².
const GRAVITY: f32 = 9.80665;

/// A thread between two particles.
#[derive(Debug, Clone, Copy)]
pub struct Thread {
    /// Its ends.
    pub ends: [u32; 2],
    /// Length at rest, metres.
    pub rest_m: f32,
    /// Inverse stiffness, m/N; 0 does not stretch.
    pub compliance: f32,
}

/// Three particles in a line that resist bending: E = |a − 2b + c|²/(2·compliance).
#[derive(Debug, Clone, Copy)]
pub struct Hinge {
    /// End, middle, end.
    pub points: [u32; 3],
    /// Inverse stiffness, m/N. For a strip of width w, bending rigidity B and spacing h it is
    /// h³/(B·w): the curvature is |a − 2b + c|/h² and the energy ½·B·w·h·κ².
    pub compliance: f32,
}

/// What the cloth falls on.
#[derive(Debug, Clone, Default)]
pub struct Ground {
    /// Blocks, without the cloth's thickness.
    pub blocks: Vec<Block>,
    /// Height at which the floor carries the cloth, metres.
    pub floor_m: Option<f32>,
    /// Gap kept to blocks, metres.
    pub gap_m: f32,
    /// Coulomb's coefficient of friction.
    pub friction: f32,
    /// Closest approach of parts of the cloth to each other, metres; 0 lets it pass through itself.
    pub layers_m: f32,
}

/// The particles and what holds them.
#[derive(Debug, Clone)]
pub struct Solver {
    /// Positions, metres.
    pub positions: Vec<Vec3>,
    velocities: Vec<Vec3>,
    before: Vec<Vec3>,
    /// One over mass, 1/kg; 0 is nailed.
    pub inverse_masses: Vec<f32>,
    /// Threads.
    pub threads: Vec<Thread>,
    /// Hinges.
    pub hinges: Vec<Hinge>,
    /// What it falls on.
    pub ground: Ground,
    close: Vec<[u32; 2]>,
}

impl Solver {
    /// Particles at rest.
    pub fn new(positions: Vec<Vec3>, inverse_masses: Vec<f32>, ground: Ground) -> Self {
        Self {
            velocities: vec![Vec3::ZERO; positions.len()],
            before: positions.clone(),
            positions,
            inverse_masses,
            threads: Vec::new(),
            hinges: Vec::new(),
            ground,
            close: Vec::new(),
        }
    }

    /// Lets `substeps` steps of `dt_s` pass with air drag of `drag` per second.
    pub fn run(&mut self, substeps: usize, dt_s: f32, drag: f32) {
        let kept = (-drag * dt_s).exp();
        in_colours(&mut self.threads, self.positions.len(), |thread| &thread.ends);
        in_colours(&mut self.hinges, self.positions.len(), |hinge| &hinge.points);
        for substep in 0..substeps {
            if self.ground.layers_m > 0.0 && substep % 10 == 0 {
                self.find_close();
            }
            for i in 0..self.positions.len() {
                self.before[i] = self.positions[i];
                if self.inverse_masses[i] > 0.0 {
                    self.velocities[i].y -= GRAVITY * dt_s;
                    self.positions[i] += self.velocities[i] * dt_s;
                }
            }
            self.keep_lengths(dt_s);
            self.resist_bending(dt_s);
            self.keep_layers_apart();
            self.keep_out();
            for i in 0..self.positions.len() {
                self.velocities[i] = (self.positions[i] - self.before[i]) * (kept / dt_s);
            }
        }
    }

    fn keep_lengths(&mut self, dt: f32) {
        for thread in &self.threads {
            let [a, b] = thread.ends.map(|i| i as usize);
            let (wa, wb) = (self.inverse_masses[a], self.inverse_masses[b]);
            let apart = self.positions[a] - self.positions[b];
            let length = apart.length();
            let weight = wa + wb + thread.compliance / (dt * dt);
            if length == 0.0 || weight == 0.0 {
                continue;
            }
            let push = apart * ((thread.rest_m - length) / (length * weight));
            self.positions[a] += push * wa;
            self.positions[b] -= push * wb;
        }
    }

    fn resist_bending(&mut self, dt: f32) {
        for hinge in &self.hinges {
            let [a, b, c] = hinge.points.map(|i| i as usize);
            let [wa, wb, wc] = [a, b, c].map(|i| self.inverse_masses[i]);
            // the constraint is linear and its three components are independent
            let bend = self.positions[a] - 2.0 * self.positions[b] + self.positions[c];
            let weight = wa + 4.0 * wb + wc + hinge.compliance / (dt * dt);
            let push = -bend / weight;
            self.positions[a] += push * wa;
            self.positions[b] -= push * (2.0 * wb);
            self.positions[c] += push * wc;
        }
    }

    fn keep_layers_apart(&mut self) {
        let least = self.ground.layers_m;
        for &[a, b] in &self.close {
            let (a, b) = (a as usize, b as usize);
            let apart = self.positions[a] - self.positions[b];
            let distance = apart.length();
            if distance < least && distance > 0.0 {
                let (wa, wb) = (self.inverse_masses[a], self.inverse_masses[b]);
                let push = apart * ((least - distance) / (distance * (wa + wb)));
                self.positions[a] += push * wa;
                self.positions[b] -= push * wb;
            }
        }
    }

    /// Out of blocks and floor along the shortest way; friction takes back sideways motion up to
    /// the coefficient times the depth pushed out.
    fn keep_out(&mut self) {
        let Ground { blocks, floor_m, gap_m, friction, .. } = &self.ground;
        for (i, p) in self.positions.iter_mut().enumerate() {
            if self.inverse_masses[i] == 0.0 {
                continue;
            }
            for block in blocks {
                let (distance, out) = block.distance(*p);
                if distance < *gap_m {
                    let depth = gap_m - distance;
                    *p = rubbed(*p + out * depth, self.before[i], out, friction * depth);
                }
            }
            if let Some(floor) = floor_m
                && p.y < *floor
            {
                let depth = floor - p.y;
                *p = rubbed(p.with_y(*floor), self.before[i], Vec3::Y, friction * depth);
            }
        }
    }

    /// Pairs of particles that may touch within the next substeps. Neighbours are held further
    /// apart than `layers_m` by their threads, so they need no exception.
    fn find_close(&mut self) {
        let reach = 1.6 * self.ground.layers_m;
        let low = self.positions.iter().fold(Vec3::MAX, |low, p| low.min(*p));
        let high = self.positions.iter().fold(Vec3::MIN, |high, p| high.max(*p));
        // one empty cell all round, so that neighbours of a cell need no bounds check
        let cell = |p: Vec3| ((p - low) / reach).as_uvec3() + UVec3::ONE;
        let size = cell(high) + 2 * UVec3::ONE;
        let index = |c: UVec3| ((c.z * size.y + c.y) * size.x + c.x) as usize;
        // counting sort of the particles by cell
        let mut starts = vec![0u32; (size.x * size.y * size.z) as usize + 1];
        for &p in &self.positions {
            starts[index(cell(p)) + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut sorted = vec![0u32; self.positions.len()];
        let mut filled = starts.clone();
        for (i, &p) in self.positions.iter().enumerate() {
            let slot = &mut filled[index(cell(p))];
            sorted[*slot as usize] = i as u32;
            *slot += 1;
        }
        self.close.clear();
        for (i, &p) in self.positions.iter().enumerate() {
            let c = cell(p);
            for dz in 0..3 {
                for dy in 0..3 {
                    let first = index(c + UVec3::new(0, dy, dz) - UVec3::ONE);
                    let run = starts[first] as usize..starts[first + 3] as usize;
                    for &j in &sorted[run] {
                        let q = self.positions[j as usize];
                        if j as usize > i && p.distance_squared(q) < reach * reach {
                            self.close.push([i as u32, j]);
                        }
                    }
                }
            }
        }
    }
}

/// Reorders constraints into colours that share no particle (greedy, stable). A sweep in the
/// grid's own order carries a pulse along with it, a row a substep, and makes it grow.
fn in_colours<T: Copy>(constraints: &mut Vec<T>, particles: usize, points: impl Fn(&T) -> &[u32]) {
    let mut taken = vec![0u32; particles];
    let mut colours: Vec<Vec<T>> = Vec::new();
    for constraint in constraints.iter() {
        let used = points(constraint).iter().fold(0, |used, &i| used | taken[i as usize]);
        let colour = (!used).trailing_zeros().min(31);
        for &i in points(constraint) {
            taken[i as usize] |= 1 << colour;
        }
        if colours.len() <= colour as usize {
            colours.resize(colour as usize + 1, Vec::new());
        }
        colours[colour as usize].push(*constraint);
    }
    *constraints = colours.concat();
}

/// Takes back up to `grip` metres of the sideways part of a motion `from` → `to` along a surface.
fn rubbed(to: Vec3, from: Vec3, out: Vec3, grip: f32) -> Vec3 {
    let moved = to - from;
    let sideways = moved - out * moved.dot(out);
    let length = sideways.length();
    if length > 0.0 { to - sideways * (grip.min(length) / length) } else { to }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of `count` spans of `h` metres along x from the origin, 1 m wide.
    fn strip(count: usize, h: f32, mass_kg_m2: f32) -> Solver {
        let positions = (0..=count).map(|i| Vec3::new(i as f32 * h, 0.0, 0.0)).collect();
        let w = 1.0 / (mass_kg_m2 * h);
        let mut solver = Solver::new(positions, vec![w; count + 1], Ground::default());
        for i in 0..count as u32 {
            solver.threads.push(Thread { ends: [i, i + 1], rest_m: h, compliance: 0.0 });
        }
        solver
    }

    #[test]
    fn a_chain_between_two_nails_hangs_in_a_catenary() {
        // y = a·cosh(x/a): span 2 m, sag 0.3 m needs a = 1.714457 m and 2.115348 m of cloth
        let spans = 24;
        let h = 2.115348 / spans as f32;
        let mut solver = strip(spans, h, 0.15);
        solver.inverse_masses[0] = 0.0;
        solver.inverse_masses[spans] = 0.0;
        // start in a vee of the right length between nails 2 m apart
        let half = 0.5 * 2.115348f32;
        let depth = (half * half - 1.0).sqrt();
        for (i, p) in solver.positions.iter_mut().enumerate() {
            let t = 2.0 * i as f32 / spans as f32;
            let down = if t < 1.0 { t } else { 2.0 - t };
            *p = Vec3::new(t, -down * depth, 0.0);
        }
        solver.run(12_000, 1.0 / 3000.0, 3.0);
        let sag = -solver.positions[spans / 2].y;
        assert!((sag - 0.3).abs() < 0.003, "sag {sag}");
        let end = solver.positions[1] - solver.positions[0];
        let slope = (-end.y / end.x).atan().to_degrees();
        // the first span's chord is half a span in from the end: tan = sinh((1 − x)/a) there
        let x = 1.0 - 0.5 * end.x;
        let expected = (x / 1.714457f32).sinh().atan().to_degrees();
        assert!((slope - expected).abs() < 0.4, "{slope} against {expected}");
    }

    #[test]
    fn a_strip_bends_under_its_own_weight_as_the_heavy_elastica() {
        // γ = wL³/B = 8: chord 41.4873° below the horizontal, x/L 0.7244247, drop/L 0.6406307
        // (boundary value problem of the clamped heavy elastica; Peirce 1930 rounds it to 41.5°)
        let (mass, c) = (0.34f32, 0.045f32);
        let rigidity = mass * GRAVITY * c.powi(3);
        let length = 2.0 * c;
        let spans = 12;
        let h = length / spans as f32;
        let mut solver = strip(spans + 1, h, mass);
        // clamped: two nailed particles, the strip is free from the second on
        solver.inverse_masses[0] = 0.0;
        solver.inverse_masses[1] = 0.0;
        for i in 0..spans as u32 {
            // from the clamp to the middle of the first span is half a span: twice as stiff
            let share = if i == 0 { 0.5 } else { 1.0 };
            let compliance = share * h.powi(3) / rigidity;
            solver.hinges.push(Hinge { points: [i, i + 1, i + 2], compliance });
        }
        // half of the last span's weight only hangs at the tip
        solver.inverse_masses[spans + 1] *= 2.0;
        // one iteration a substep holds with compliance + masses·dt²: the step keeps the second
        // term to 1 %, and g·dt² well above the rounding of a position
        solver.run(20_000, 1.0 / 12_000.0, 20.0);
        let tip = solver.positions[spans + 1] - solver.positions[1];
        let (x, drop) = (tip.x / length, -tip.y / length);
        let chord = drop.atan2(x).to_degrees();
        assert!((chord - 41.4873).abs() < 0.5, "chord {chord}, x {x}, drop {drop}");
        assert!((x - 0.7244).abs() < 0.01 && (drop - 0.6406).abs() < 0.01, "x {x}, drop {drop}");
    }

    #[test]
    fn a_particle_on_a_slope_of_friction_stays_and_never_enters_a_block() {
        let block = Block {
            centre: Vec3::new(0.0, 0.2, 0.0),
            half: Vec3::splat(0.2),
            along: Vec3::X,
            across: Vec3::Z,
        };
        let ground = Ground {
            blocks: vec![block],
            floor_m: Some(0.0),
            gap_m: 0.005,
            friction: 0.5,
            layers_m: 0.0,
        };
        let mut solver = Solver::new(vec![Vec3::new(0.05, 0.6, 0.1)], vec![1.0], ground);
        solver.run(2000, 1.0 / 1000.0, 1.0);
        assert!((solver.positions[0] - Vec3::new(0.05, 0.405, 0.1)).length() < 1e-4);
    }
}
