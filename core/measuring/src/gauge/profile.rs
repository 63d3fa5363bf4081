//! Intervals by profile likelihood: the values that the placings do not speak against.
//!
//! The symmetric intervals of [`Fit::spread_mm`] and [`Fit::bias_mm`] follow from the curvature
//! at the top alone. With a few hundred placings the likelihood is not even about its top, and they
//! hold the truth somewhat less often than they say (`tests/gauge/simulation.rs` has both). Here an
//! end is where twice the logarithm of the likelihood, everything else at its best, has fallen by
//! χ²'s quantile with one degree of freedom (Venzon and Moolgavkar, Applied Statistics 37, 1988,
//! 87-94).

use super::normal;
use super::probit::{Cell, Estimate, Fit, pull};

/// Steps of any of the searches below. They gain digits by doubling; a dozen is plenty.
const STEPS: u32 = 60;

/// Spread and bias with intervals by profile likelihood, millimetres. The cells must be those of
/// the fit, best put together ([`super::probit::gather`]): each end costs a dozen looks at all of them.
/// Where the likelihood never falls far enough on one side, that end is the symmetric interval's.
pub fn profile(cells: &[Cell], fit: &Fit, level: f64) -> (Estimate, Estimate) {
    let (spread, bias) = (fit.spread_mm(level), fit.bias_mm(level));
    let by = normal::two_sided(level);
    // The spread: on the scale of its logarithm, the intercept at its best.
    let of_spread = |ln: f64| {
        let slope = (-ln).exp();
        best(cells, fit.intercept / fit.slope * slope, |a, x| {
            (a + slope * x, 1.0)
        })
    };
    let ln = spread.value.ln();
    let end = |to: f64| {
        root(
            &of_spread,
            fit.log_likelihood,
            ln,
            to * spread.error,
            to * by,
        )
    };
    let spread = Estimate {
        low: end(-1.0).map_or(spread.low, f64::exp),
        high: end(1.0).map_or(spread.high, f64::exp),
        ..spread
    };
    // The bias: the slope at its best.
    let of_bias = |b: f64| best(cells, fit.slope, |slope, x| (slope * (x - b), x - b));
    let end = |to: f64| {
        root(
            &of_bias,
            fit.log_likelihood,
            bias.value,
            to * bias.error,
            to * by,
        )
    };
    let bias = Estimate {
        low: end(-1.0).unwrap_or(bias.low),
        high: end(1.0).unwrap_or(bias.high),
        ..bias
    };
    (spread, bias)
}

/// The most that the likelihood comes to over one number, the other held. `at` gives the linear
/// predictor of a room and how it grows with that number; the likelihood is concave in it.
fn best(cells: &[Cell], from: f64, at: impl Fn(f64, f64) -> (f64, f64)) -> Option<f64> {
    let look = |v: f64| {
        cells.iter().fold((0.0, 0.0, 0.0), |(value, g, h), c| {
            let (z, d) = at(v, c.room_mm);
            let p = pull(c, z);
            (value + p.value, g + d * p.slope, h + d * d * p.curve)
        })
    };
    let mut v = from;
    let mut now = look(v);
    for _ in 0..STEPS {
        let (value, g, h) = now;
        let step = g / h;
        if !step.is_finite() {
            return None;
        }
        if g * step < 1e-9 {
            return Some(value + 0.5 * g * step);
        }
        let mut part = 1.0;
        let mut next = look(v + step);
        while next.0 < value && part > 1e-6 {
            part *= 0.5;
            next = look(v + part * step);
        }
        v += part * step;
        now = next;
    }
    None
}

/// Where the signed root of twice the fall from `top` is `goal`, from `middle` outwards: that root is
/// nearly a straight line of slope one standard error (`unit`, signed like the goal).
fn root(
    profile: &dyn Fn(f64) -> Option<f64>,
    top: f64,
    middle: f64,
    unit: f64,
    goal: f64,
) -> Option<f64> {
    let fallen = |x: f64| Some((2.0 * (top - profile(x)?)).max(0.0).sqrt() * unit.signum());
    // The goal is bracketed first, then closed in on by false position, halving where that is slow.
    let (mut near, mut at_near) = (middle, 0.0);
    let mut far = middle + unit * goal.abs();
    let mut at_far = fallen(far)?;
    for _ in 0..STEPS {
        if at_far.abs() >= goal.abs() {
            break;
        }
        (near, at_near) = (far, at_far);
        far = middle + 1.5 * (far - middle);
        at_far = fallen(far)?;
    }
    if at_far.abs() < goal.abs() {
        return None;
    }
    for i in 0..STEPS {
        let share = if i % 3 == 2 {
            0.5
        } else {
            (goal - at_near) / (at_far - at_near)
        };
        let x = near + share * (far - near);
        let at = fallen(x)?;
        if (at - goal).abs() < 1e-9 || (far - near).abs() <= 1e-12 * middle.abs().max(1.0) {
            return Some(x);
        }
        if at.abs() < goal.abs() {
            (near, at_near) = (x, at);
        } else {
            (far, at_far) = (x, at);
        }
    }
    Some(0.5 * (near + far))
}
