//! Fast way for the commonest faces: one loop whose lower and upper side run
//! from left to right through the same abscissas.

use super::outline::Outline;

/// Fills the outline strip by strip. Leaves `out` alone and returns false when
/// the outline is not of that kind. `out` gets corner indices.
pub(super) fn fill(outline: &Outline, out: &mut Vec<[u32; 3]>) -> bool {
    let n = outline.at.len();
    if outline.starts.len() != 2 || n < 3 {
        return false;
    }
    let Some(sides) = Sides::of(&outline.at) else { return false };
    let Sides { left_bottom, left_run, steps, right_run } = sides;
    let corner = |i: usize| ((left_bottom + i) % n) as u32;
    let lower = |k: usize| corner(k);
    let upper = |k: usize| corner(n - left_run - k);
    for k in 1..steps {
        let (a, b) = (lower(k) as usize, upper(k) as usize);
        if outline.at[a][0] != outline.at[b][0] || outline.at[a][1] >= outline.at[b][1] {
            return false;
        }
    }
    for k in 0..steps {
        let (last, left_len, right_len) = (
            k + 1 == steps,
            if k == 0 { left_run + 1 } else { 2 },
            if k + 1 == steps { right_run + 1 } else { 2 },
        );
        let left = |i: usize| match (k, i) {
            (0, i) => corner((n - i) % n),
            (_, 0) => lower(k),
            _ => upper(k),
        };
        let right = |j: usize| match (last, j) {
            (true, j) => corner(steps + j),
            (_, 0) => lower(k + 1),
            _ => upper(k + 1),
        };
        zip(&outline.at, left, left_len, right, right_len, out);
    }
    true
}

/// How a loop splits into a left run, a lower side, a right run and an upper
/// side.
struct Sides {
    /// Corner at the lower end of the left run.
    left_bottom: usize,
    /// Pieces of the left run; 0 when the loop starts in a point.
    left_run: usize,
    /// Pieces of the lower side, and of the upper one.
    steps: usize,
    /// Pieces of the right run.
    right_run: usize,
}

impl Sides {
    fn of(at: &[[f64; 2]]) -> Option<Sides> {
        let n = at.len();
        let x = |i: usize| at[i % n][0];
        let least = (0..n).min_by(|&a, &b| x(a).total_cmp(&x(b)))?;
        let mut left_bottom = least;
        while x(left_bottom + 1) == x(least) {
            left_bottom = (left_bottom + 1) % n;
            if left_bottom == least {
                return None;
            }
        }
        let height = |i: usize| at[(left_bottom + i) % n][1];
        let at = |i: usize| x(left_bottom + i);
        let mut i = 0;
        while i + 1 < n && at(i + 1) > at(i) {
            i += 1;
        }
        let steps = i;
        while i + 1 < n && at(i + 1) == at(i) && height(i + 1) > height(i) {
            i += 1;
        }
        let right_run = i - steps;
        while i + 1 < n && at(i + 1) < at(i) {
            i += 1;
        }
        let upper = i - steps - right_run;
        // The corner reached is on the left run, or the only left corner's
        // last neighbour.
        let (upper, left_run) = if at(i) == at(0) {
            (upper, n - i)
        } else if i + 1 == n {
            (upper + 1, 0)
        } else {
            return None;
        };
        for j in i..i + left_run {
            if at(j % n) != at(0) || height(j % n) <= height((j + 1) % n) {
                return None;
            }
        }
        (upper == steps && steps > 0).then_some(Sides { left_bottom, left_run, steps, right_run })
    }
}

/// Triangles between two upright rows of corners, shorter diagonals first.
fn zip(
    at: &[[f64; 2]],
    left: impl Fn(usize) -> u32,
    left_len: usize,
    right: impl Fn(usize) -> u32,
    right_len: usize,
    out: &mut Vec<[u32; 3]>,
) {
    let length = |a: u32, b: u32| {
        let (p, q) = (at[a as usize], at[b as usize]);
        (p[0] - q[0]).powi(2) + (p[1] - q[1]).powi(2)
    };
    let (mut i, mut j) = (0, 0);
    while i + 1 < left_len || j + 1 < right_len {
        let raise_left = j + 1 == right_len
            || (i + 1 < left_len && length(left(i + 1), right(j)) < length(left(i), right(j + 1)));
        if raise_left {
            out.push([left(i), right(j), left(i + 1)]);
            i += 1;
        } else {
            out.push([left(i), right(j), right(j + 1)]);
            j += 1;
        }
    }
}
