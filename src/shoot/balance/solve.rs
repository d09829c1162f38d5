//! Powers that bring readings to wished values: least squares in stops.
//!
//! In: what each light gives at full power wherever something is wished, and the wishes. Out: one
//! power a light. Nothing here knows a plan or traces a ray.
//!
//! ```text
//!   a reading of light i alone    s = log2(a_i) + p_i
//!   a reading of all together     s = log2(c + Σ b_i 2^p_i)        c: the room
//!   a wish                        r = s − t,  t fixed, or another reading plus stops
//!   powers                        min Σ r² + ε² Σ (d − d̄)² + δ² Σ d²,  lowest_i ≤ p_i ≤ 0
//! ```
//! d is a power's change, d̄ their mean. The small ε and smaller δ only decide what the wishes
//! leave open: then all powers change alike, which keeps the ratios, and as little as they can.

/// ε: weight of changing alike.
const ALIKE: f64 = 1e-4;
/// δ: weight of staying at today's power.
const STAY: f64 = 3e-7;
/// Rounds of Gauss & Newton; a handful suffices, since readings are smooth in stops.
const ROUNDS: usize = 60;
/// Longest step of a round in stops, so that sums do not overshoot.
const LONGEST_STEP: f64 = 2.0;

/// A reading as a function of the powers.
#[derive(Debug, Clone, PartialEq)]
pub struct Meter {
    /// lx·s of each light at full power that count for it; 0 for those that do not.
    pub full_lux_s: Vec<f64>,
    /// lx·s that no power changes.
    pub steady_lux_s: f64,
}

impl Meter {
    /// log2 of the reading in lx·s.
    pub fn stops(&self, powers: &[f64]) -> f64 {
        let lights: f64 =
            self.full_lux_s.iter().zip(powers).map(|(full, power)| full * power.exp2()).sum();
        (self.steady_lux_s + lights).log2()
    }
}

/// What a reading is wished to be, in stops.
#[derive(Debug, Clone, PartialEq)]
pub enum Goal {
    /// log2 of lx·s.
    Fixed(f64),
    /// So far above another reading.
    Above(Meter, f64),
}

/// One wish.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// The reading.
    pub meter: Meter,
    /// Its goal.
    pub goal: Goal,
}

impl Term {
    /// How far the reading lies above its goal, in stops.
    pub fn off(&self, powers: &[f64]) -> f64 {
        let goal = match &self.goal {
            Goal::Fixed(stops) => *stops,
            Goal::Above(other, stops) => other.stops(powers) + stops,
        };
        self.meter.stops(powers) - goal
    }
}

/// One light's power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dial {
    /// Today's, in stops below full.
    pub now: f64,
    /// Whether it may change.
    pub free: bool,
    /// Lowest of the head.
    pub lowest: f64,
    /// Step of the head in stops; 0 for none.
    pub step: f64,
}

/// Powers in stops below full.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// What the wishes ask for, whether the heads can or not.
    pub asked: Vec<f64>,
    /// The best within the heads' range.
    pub within: Vec<f64>,
    /// The best on the heads' steps.
    pub set: Vec<f64>,
}

/// Solves for the powers of the free lights.
pub fn solve(terms: &[Term], dials: &[Dial]) -> Solution {
    let now: Vec<f64> = dials.iter().map(|dial| dial.now).collect();
    let free: Vec<bool> = dials.iter().map(|dial| dial.free).collect();
    let asked = least_squares(terms, dials, now, &free);
    let within = bounded(terms, dials, asked.clone(), free);
    let set = rounded(terms, dials, &within);
    Solution { asked, within, set }
}

/// A light past its range is held there and the others are solved again.
fn bounded(terms: &[Term], dials: &[Dial], mut powers: Vec<f64>, mut free: Vec<bool>) -> Vec<f64> {
    loop {
        let beyond = |i: usize| (powers[i]).max(dials[i].lowest - powers[i]);
        let worst = (0..dials.len())
            .filter(|&i| free[i] && beyond(i) > 1e-9)
            .max_by(|&a, &b| beyond(a).total_cmp(&beyond(b)));
        let Some(worst) = worst else { return powers };
        powers[worst] = powers[worst].clamp(dials[worst].lowest, 0.0);
        free[worst] = false;
        powers = least_squares(terms, dials, powers, &free);
    }
}

/// Nearest steps, then one step up or down wherever that serves the wishes better.
fn rounded(terms: &[Term], dials: &[Dial], powers: &[f64]) -> Vec<f64> {
    let on_step = |dial: &Dial, power: f64| {
        if dial.free && dial.step > 0.0 {
            // the lowest power itself is always there, also off the steps
            ((power / dial.step).round() * dial.step).clamp(dial.lowest, 0.0)
        } else {
            power
        }
    };
    let mut set: Vec<f64> = dials.iter().zip(powers).map(|(d, p)| on_step(d, *p)).collect();
    let mut best = cost(terms, dials, &set);
    let mut better = true;
    while better {
        better = false;
        for i in 0..dials.len() {
            for step in [-dials[i].step, dials[i].step] {
                let mut other = set.clone();
                other[i] = on_step(&dials[i], set[i] + step);
                let found = cost(terms, dials, &other);
                if dials[i].free && found < best - 1e-12 {
                    (set, best, better) = (other, found, true);
                }
            }
        }
    }
    set
}

fn cost(terms: &[Term], dials: &[Dial], powers: &[f64]) -> f64 {
    let wishes: f64 = terms.iter().map(|term| term.off(powers).powi(2)).sum();
    let changes: Vec<f64> = dials
        .iter()
        .zip(powers)
        .filter(|(dial, _)| dial.free)
        .map(|(dial, power)| power - dial.now)
        .collect();
    let mean = mean(&changes);
    let alike: f64 = changes.iter().map(|d| (ALIKE * (d - mean)).powi(2)).sum();
    let stay: f64 = changes.iter().map(|d| (STAY * d).powi(2)).sum();
    wishes + alike + stay
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Gauss & Newton with a forward-difference Jacobian.
fn least_squares(terms: &[Term], dials: &[Dial], start: Vec<f64>, free: &[bool]) -> Vec<f64> {
    let unknown: Vec<usize> = (0..dials.len()).filter(|&i| free[i]).collect();
    let mut powers = start;
    for _ in 0..ROUNDS {
        let size = unknown.len();
        let residuals: Vec<f64> = terms.iter().map(|term| term.off(&powers)).collect();
        let slopes: Vec<Vec<f64>> = unknown
            .iter()
            .map(|&i| {
                const H: f64 = 1e-6;
                let mut other = powers.clone();
                other[i] += H;
                terms.iter().zip(&residuals).map(|(t, r)| (t.off(&other) - r) / H).collect()
            })
            .collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut matrix = vec![vec![0.0; size + 1]; size];
        let changes: Vec<f64> = unknown.iter().map(|&i| powers[i] - dials[i].now).collect();
        let mean = mean(&changes);
        for (row, change) in changes.iter().enumerate() {
            for column in 0..size {
                matrix[row][column] =
                    dot(&slopes[row], &slopes[column]) - ALIKE * ALIKE / size as f64;
            }
            matrix[row][row] += ALIKE * ALIKE + STAY * STAY;
            matrix[row][size] = -dot(&slopes[row], &residuals)
                - ALIKE * ALIKE * (change - mean)
                - STAY * STAY * change;
        }
        let steps = eliminate(matrix);
        let longest = steps.iter().fold(0.0f64, |most, step| most.max(step.abs()));
        if !longest.is_finite() {
            return powers;
        }
        let shrink = (LONGEST_STEP / longest.max(1e-12)).min(1.0);
        for (&i, step) in unknown.iter().zip(&steps) {
            powers[i] += shrink * step;
        }
        if longest < 1e-9 {
            break;
        }
    }
    powers
}

/// Solves a symmetric positive system whose last column is the right side.
fn eliminate(mut matrix: Vec<Vec<f64>>) -> Vec<f64> {
    let size = matrix.len();
    for pivot in 0..size {
        let row = matrix[pivot].clone();
        for other in matrix.iter_mut().skip(pivot + 1) {
            let factor = other[pivot] / row[pivot];
            for (a, b) in other.iter_mut().zip(&row).skip(pivot) {
                *a -= factor * b;
            }
        }
    }
    let mut found = vec![0.0; size];
    for row in (0..size).rev() {
        let known: f64 = (row + 1..size).map(|column| matrix[row][column] * found[column]).sum();
        found[row] = (matrix[row][size] - known) / matrix[row][row];
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alone(lights: usize, light: usize, full: f64) -> Meter {
        let mut full_lux_s = vec![0.0; lights];
        full_lux_s[light] = full;
        Meter { full_lux_s, steady_lux_s: 0.0 }
    }

    fn dial(now: f64) -> Dial {
        Dial { now, free: true, lowest: -7.0, step: 0.1 }
    }

    /// One light: 4000 lx·s at full power, 500 wanted: −3.
    #[test]
    fn one_light_is_a_logarithm() {
        let term = Term { meter: alone(1, 0, 4000.0), goal: Goal::Fixed(500f64.log2()) };
        let found = solve(&[term], &[dial(0.0)]);
        assert!((found.asked[0] + 3.0).abs() < 1e-6, "{found:?}");
        assert!((found.set[0] + 3.0).abs() < 1e-9);
    }

    /// Lighting ratio of the armed forces' course (R02): key and fill of equal units at 8 and
    /// 11 ft are 2.89:1; the fill 2 stops under the key makes 5:1 of lit side to shadow side.
    #[test]
    fn relative_wishes_follow_the_key() {
        let key = alone(2, 0, 3000.0);
        let terms = [
            Term { meter: key.clone(), goal: Goal::Fixed(640f64.log2()) },
            Term { meter: alone(2, 1, 900.0), goal: Goal::Above(key, -2.0) },
        ];
        let found = solve(&terms, &[dial(-1.0), dial(-1.0)]).asked;
        let (key, fill) = (3000.0 * found[0].exp2(), 900.0 * found[1].exp2());
        assert!((key - 640.0).abs() < 1e-3 && (fill - 160.0).abs() < 1e-3, "{key} {fill}");
    }

    /// Cross-light: a backdrop that both lights reach, and the key's own reading; the second light
    /// has to give what the key's spill and the room leave.
    #[test]
    fn spill_counts() {
        let backdrop = Meter { full_lux_s: vec![400.0, 2000.0], steady_lux_s: 5.0 };
        let terms = [
            Term { meter: alone(2, 0, 3000.0), goal: Goal::Fixed(750f64.log2()) },
            Term { meter: backdrop, goal: Goal::Fixed(300f64.log2()) },
        ];
        let found = solve(&terms, &[dial(0.0), dial(0.0)]).asked;
        // 400/4 of spill and 5 of room leave 195 of 2000
        assert!((found[0] + 2.0).abs() < 1e-6, "{found:?}");
        assert!((found[1] - (195f64 / 2000.0).log2()).abs() < 1e-6, "{found:?}");
    }

    /// A wish on the sum alone moves all lights alike.
    #[test]
    fn what_is_left_open_stays() {
        let all = Meter { full_lux_s: vec![1000.0, 500.0], steady_lux_s: 0.0 };
        let goal = all.stops(&[-1.0, -3.0]) + 1.0;
        let found =
            solve(&[Term { meter: all, goal: Goal::Fixed(goal) }], &[dial(-1.0), dial(-3.0)]);
        let off =
            (goal - (1000.0 * found.asked[0].exp2() + 500.0 * found.asked[1].exp2()).log2()).abs();
        assert!(off < 1e-6, "{found:?}");
        let changes = [found.asked[0] + 1.0, found.asked[1] + 3.0];
        assert!((changes[0] - 1.0).abs() < 1e-4 && (changes[1] - 1.0).abs() < 1e-4, "{found:?}");
    }

    #[test]
    fn a_weak_head_stays_at_full_and_the_others_help() {
        let sum = Meter { full_lux_s: vec![100.0, 1000.0], steady_lux_s: 0.0 };
        let terms = [
            Term { meter: alone(2, 0, 100.0), goal: Goal::Fixed(400f64.log2()) },
            Term { meter: sum, goal: Goal::Fixed(600f64.log2()) },
        ];
        let found = solve(&terms, &[dial(-1.0), dial(-1.0)]);
        assert!((found.asked[0] - 2.0).abs() < 1e-6, "{found:?}");
        assert_eq!(found.within[0], 0.0);
        assert!((1000.0 * found.within[1].exp2() - 500.0).abs() < 1e-3, "{found:?}");
    }

    #[test]
    fn rounding_takes_the_better_neighbour() {
        let sum = Meter { full_lux_s: vec![1000.0, 1000.0], steady_lux_s: 0.0 };
        let third = Dial { step: 1.0 / 3.0, ..dial(-2.0) };
        let goal = (1000.0 * (-2.5f64).exp2() + 1000.0 * (-2.5f64).exp2()).log2();
        let found = solve(&[Term { meter: sum.clone(), goal: Goal::Fixed(goal) }], &[third, third]);
        for power in &found.set {
            assert!(((power * 3.0).round() - power * 3.0).abs() < 1e-9, "{found:?}");
        }
        let off = sum.stops(&found.set) - goal;
        assert!(off.abs() < 0.03, "one up and one down serve better: {off} {found:?}");
    }
}
