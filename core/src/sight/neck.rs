//! The neck seen from above: its outline as an ellipse, and where in it a shoot rises.

use super::{
    Estimate, NoNumber, Point, TAP_SD_PX,
    matrix::{Matrix, inverse, product, transposed},
    propagated_slice,
};

/// An outline has at least so many marks: an ellipse is fixed by five.
pub const OUTLINE_MIN: usize = 5;
/// Up to here a shoot rises from the middle, from here beside it, in parts of the way from the centre to the rim. That
/// flower stalks stand beside the fan of leaves is known; that half the way parts the two is our own, no source.
pub const HALF_WAY: f64 = 0.5;
/// A foot farther out than this is not in the neck: an offset beside it, or a mark that slipped. Our own, no source.
pub const OUTSIDE: f64 = 1.25;

/// An ellipse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Its centre.
    pub center: Point,
    /// Half its longer and half its shorter axis, in pixels.
    pub semi_axes_px: (f64, f64),
    /// Direction of the longer axis, a vector of length 1.
    pub along: (f64, f64),
}

/// On which side of [`HALF_WAY`] a shoot rises, where its error leaves no doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rise {
    /// Beside the leaves.
    Beside,
    /// Among the leaves.
    Middle,
    /// The error reaches to both sides, or the foot is not in the neck.
    CantTell,
}

impl Rise {
    /// What a place of rise says.
    pub fn of(index: Estimate) -> Self {
        if index.value > OUTSIDE {
            Self::CantTell
        } else if index.value - index.error > HALF_WAY {
            Self::Beside
        } else if index.value + index.error < HALF_WAY {
            Self::Middle
        } else {
            Self::CantTell
        }
    }
}

impl Ellipse {
    /// The ellipse nearest to these marks, by direct least squares (Fitzgibbon, Pilu and Fisher 1999, in the form of Halíř
    /// and Flusser 1998).
    ///
    /// # Errors
    /// When the marks are too few or not around an ellipse.
    pub fn through(outline: &[Point]) -> Result<Self, NoNumber> {
        if outline.len() < OUTLINE_MIN {
            return Err(NoNumber::OutlineTooShort);
        }
        fit(outline).ok_or(NoNumber::NoEllipse)
    }

    /// How far a point is from the centre in units of the ellipse: 0 at the centre, 1 on the rim.
    pub fn index(&self, point: Point) -> f64 {
        let (dx, dy) = (point.x - self.center.x, point.y - self.center.y);
        let (along, across) = (dx * self.along.0 + dy * self.along.1, dy * self.along.0 - dx * self.along.1);
        ((along / self.semi_axes_px.0).powi(2) + (across / self.semi_axes_px.1).powi(2)).sqrt()
    }

    /// The point of the rim at a share of the way around, from the end of the longer axis.
    pub fn rim(&self, share: f64) -> Point {
        let (sin, cos) = (share * std::f64::consts::TAU).sin_cos();
        let (u, v) = (self.semi_axes_px.0 * cos, self.semi_axes_px.1 * sin);
        Point::new(
            self.center.x + u * self.along.0 - v * self.along.1,
            self.center.y + u * self.along.1 + v * self.along.0,
        )
    }
}

/// The place of rise of a foot in an outline (`rise_index`): 0 centre, 1 rim.
///
/// A neck is no ellipse: its marks miss by as much as they are off the ellipse, and by a tap at least.
///
/// # Errors
/// When the outline gives no ellipse.
pub fn rise(outline: &[Point], foot: Point) -> Result<Estimate, NoNumber> {
    rise_by(outline, foot, TAP_SD_PX)
}

/// The same with marks that miss by another standard deviation in pixels.
///
/// # Errors
/// When the outline gives no ellipse.
pub fn rise_by(outline: &[Point], foot: Point, tap_sd_px: f64) -> Result<Estimate, NoNumber> {
    let ellipse = Ellipse::through(outline)?;
    let index = ellipse.index(foot);
    // An ellipse takes five degrees of freedom; with five marks nothing is known of how far they are off.
    let mean_px = (ellipse.semi_axes_px.0 * ellipse.semi_axes_px.1).sqrt();
    let off = outline.iter().map(|mark| ((ellipse.index(*mark) - 1.0) * mean_px).powi(2)).sum::<f64>();
    let free = outline.len() - OUTLINE_MIN;
    let off_px = if free == 0 { 0.0 } else { (off / free as f64).sqrt() };
    let outline_sd = off_px.max(tap_sd_px);
    let mut inputs: Vec<f64> = outline.iter().flat_map(|point| [point.x, point.y]).collect();
    let mut sd = vec![outline_sd; inputs.len()];
    inputs.extend([foot.x, foot.y]);
    sd.extend([tap_sd_px; 2]);
    let n = outline.len();
    let of = |inputs: &[f64]| {
        let points: Vec<Point> = inputs.chunks_exact(2).map(|pair| Point::new(pair[0], pair[1])).collect();
        let ellipse = Ellipse::through(points.get(..n)?).ok()?;
        Some(ellipse.index(*points.get(n)?))
    };
    let sd = propagated_slice(&inputs, &sd, of).ok_or(NoNumber::NoEllipse)?;
    Ok(Estimate::with_sd(index, sd))
}

/// The conic a x² + b x y + c y² + d x + e y + f = 0 with 4 a c - b² > 0 that fits best.
fn fit(outline: &[Point]) -> Option<Ellipse> {
    // Marks around 0 with distances around 1, so that squares and units weigh alike.
    let n = outline.len() as f64;
    let center = Point::new(outline.iter().map(|p| p.x).sum::<f64>() / n, outline.iter().map(|p| p.y).sum::<f64>() / n);
    let scale = outline.iter().map(|p| p.distance(center)).sum::<f64>() / n;
    if !(scale > 1e-6 && scale.is_finite()) {
        return None;
    }
    let marks: Vec<(f64, f64)> = outline.iter().map(|p| ((p.x - center.x) / scale, (p.y - center.y) / scale)).collect();
    let squares = |(x, y): (f64, f64)| [x * x, x * y, y * y];
    let lines = |(x, y): (f64, f64)| [x, y, 1.0];
    let (mut s1, mut s2, mut s3) = ([[0.0; 3]; 3], [[0.0; 3]; 3], [[0.0; 3]; 3]);
    for mark in marks {
        let (square, line) = (squares(mark), lines(mark));
        for r in 0..3 {
            for c in 0..3 {
                s1[r][c] += square[r] * square[c];
                s2[r][c] += square[r] * line[c];
                s3[r][c] += line[r] * line[c];
            }
        }
    }
    // The linear part follows from the squares: t a1, with t = - s3⁻¹ s2ᵀ.
    let s3_inverse = inverse(&s3, 1e-12)?;
    let mut t = product(&s3_inverse, &transposed(&s2));
    t.iter_mut().flatten().for_each(|value| *value = -*value);
    let mut m = product(&s2, &t);
    for (row, more) in m.iter_mut().zip(&s1) {
        row.iter_mut().zip(more).for_each(|(value, more)| *value += more);
    }
    let squares = most_elliptic(&m)?;
    if 4.0 * squares[0] * squares[2] - squares[1] * squares[1] <= 1e-9 {
        return None;
    }
    let linear = [0, 1, 2].map(|r| t[r][0] * squares[0] + t[r][1] * squares[1] + t[r][2] * squares[2]);
    ellipse(squares, linear, center, scale)
}

/// The ellipse of a conic around a centre in units of a scale.
fn ellipse([a, b, c]: [f64; 3], [d, e, f]: [f64; 3], center: Point, scale: f64) -> Option<Ellipse> {
    let det = 4.0 * a * c - b * b;
    let (x, y) = ((b * e - 2.0 * c * d) / det, (b * d - 2.0 * a * e) / det);
    // The conic's value at its centre, and the quadratic form's eigenvalues.
    let level = -(f + (d * x + e * y) / 2.0);
    let (mean, apart) = ((a + c) / 2.0, (((a - c) / 2.0).powi(2) + (b / 2.0).powi(2)).sqrt());
    let (more, less) = ((mean + apart) / level, (mean - apart) / level);
    let (least, most) = if more.abs() < less.abs() { (more, less) } else { (less, more) };
    if !(least > 0.0 && most.is_finite()) {
        return None;
    }
    // Direction of the longer axis: the eigenvector of the smaller eigenvalue.
    let value = least * level;
    let (u, v) = if (a - value).abs() > (c - value).abs() { (-b / 2.0, a - value) } else { (c - value, -b / 2.0) };
    let length = (u * u + v * v).sqrt();
    let along = if length > 0.0 { (u / length, v / length) } else { (1.0, 0.0) };
    Some(Ellipse {
        center: Point::new(center.x + scale * x, center.y + scale * y),
        semi_axes_px: (scale / least.sqrt(), scale / most.sqrt()),
        along,
    })
}

/// The vector v of length 1 for which 4 v0 v2 - v1² is largest beside vᵀ m v, m positive: the eigenvector of the one
/// positive eigenvalue. Marks exactly on an ellipse make m singular, so a rounding error is added to it.
fn most_elliptic(m: &Matrix) -> Option<[f64; 3]> {
    let slack = 1e-14 * (m[0][0] + m[1][1] + m[2][2]);
    // m = l lᵀ
    let mut l = [[0.0; 3]; 3];
    for r in 0..3 {
        for c in 0..=r {
            let above: f64 = (0..c).map(|k| l[r][k] * l[c][k]).sum();
            let rest = (m[r][c] + m[c][r]) / 2.0 + if r == c { slack } else { 0.0 } - above;
            if r == c {
                l[r][r] = rest.max(slack / 10.0).sqrt();
            } else {
                l[r][c] = rest / l[c][c];
            }
        }
    }
    if !(l[0][0] > 0.0 && l[1][1] > 0.0 && l[2][2] > 0.0) {
        return None;
    }
    // Solves l x = v, and lᵀ x = v.
    let forward = |v: [f64; 3]| {
        let x0 = v[0] / l[0][0];
        let x1 = (v[1] - l[1][0] * x0) / l[1][1];
        [x0, x1, (v[2] - l[2][0] * x0 - l[2][1] * x1) / l[2][2]]
    };
    let backward = |v: [f64; 3]| {
        let x2 = v[2] / l[2][2];
        let x1 = (v[1] - l[2][1] * x2) / l[1][1];
        [(v[0] - l[1][0] * x1 - l[2][0] * x2) / l[0][0], x1, x2]
    };
    // l⁻¹ c l⁻ᵀ, with c the matrix of 4 v0 v2 - v1².
    let half = transposed(&[forward([0.0, 0.0, 2.0]), forward([0.0, -1.0, 0.0]), forward([2.0, 0.0, 0.0])]);
    let whole = half.map(forward);
    let (values, vectors) = symmetric(whole)?;
    let most = (0..3).max_by(|a, b| values[*a].total_cmp(&values[*b]))?;
    let found = backward([vectors[0][most], vectors[1][most], vectors[2][most]]);
    let length = found.iter().map(|x| x * x).sum::<f64>().sqrt();
    (length > 0.0 && length.is_finite()).then(|| found.map(|x| x / length))
}

/// Eigenvalues of a symmetric matrix, and its eigenvectors as columns (Jacobi's rotations).
fn symmetric(mut m: Matrix) -> Option<([f64; 3], Matrix)> {
    let mut vectors = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    for _ in 0..30 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if m[p][q] == 0.0 {
                continue;
            }
            let theta = (m[q][q] - m[p][p]) / (2.0 * m[p][q]);
            let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
            let cos = 1.0 / (t * t + 1.0).sqrt();
            let sin = t * cos;
            let before = m;
            for k in 0..3 {
                m[k][p] = cos * before[k][p] - sin * before[k][q];
                m[k][q] = sin * before[k][p] + cos * before[k][q];
            }
            let before = m;
            for k in 0..3 {
                m[p][k] = cos * before[p][k] - sin * before[q][k];
                m[q][k] = sin * before[p][k] + cos * before[q][k];
            }
            for row in &mut vectors {
                let (x, y) = (row[p], row[q]);
                row[p] = cos * x - sin * y;
                row[q] = sin * x + cos * y;
            }
            (m[p][q], m[q][p]) = (0.0, 0.0);
        }
    }
    let values = [m[0][0], m[1][1], m[2][2]];
    values.iter().all(|value| value.is_finite()).then_some((values, vectors))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn known(a: f64, b: f64, turn: f64) -> Ellipse {
        let (sin, cos) = turn.sin_cos();
        Ellipse { center: Point::new(800.0, 600.0), semi_axes_px: (a, b), along: (cos, sin) }
    }

    fn outline(of: &Ellipse, n: usize) -> Vec<Point> {
        (0..n).map(|at| of.rim((at as f64 + 0.3) / n as f64)).collect()
    }

    #[test]
    fn marks_on_one_line_or_too_few_are_no_outline() {
        let line: Vec<Point> = (0..6).map(|at| Point::new(f64::from(at) * 10.0, 5.0)).collect();
        assert_eq!(Ellipse::through(&line), Err(NoNumber::NoEllipse));
        assert_eq!(Ellipse::through(&line[..4]), Err(NoNumber::OutlineTooShort));
        assert_eq!(Ellipse::through(&[Point::new(3.0, 3.0); 6]), Err(NoNumber::NoEllipse));
    }

    #[test]
    fn a_place_of_rise_says_beside_or_middle_only_where_its_error_leaves_no_doubt() {
        let of = |value, error| Rise::of(Estimate { value, error });
        assert_eq!(of(0.8, 0.1), Rise::Beside);
        assert_eq!(of(0.2, 0.1), Rise::Middle);
        assert_eq!(of(0.55, 0.1), Rise::CantTell);
        assert_eq!(of(1.6, 0.1), Rise::CantTell);
    }

    proptest! {
        #[test]
        fn marks_on_an_ellipse_give_it_back(
            a in 60.0..300.0_f64, flat in 0.4..1.0_f64, turn in 0.0..3.1_f64, n in 5..12_usize,
            at in 0.0..1.0_f64, out in 0.0..1.2_f64,
        ) {
            let truth = known(a, a * flat, turn);
            let found = Ellipse::through(&outline(&truth, n)).unwrap();
            prop_assert!((found.semi_axes_px.0 - a).abs() < 1e-5 * a, "{found:?}");
            prop_assert!((found.semi_axes_px.1 - a * flat).abs() < 1e-5 * a);
            prop_assert!(found.center.distance(truth.center) < 1e-5 * a);
            let rim = truth.rim(at);
            let foot = Point::new(800.0 + (rim.x - 800.0) * out, 600.0 + (rim.y - 600.0) * out);
            let rise = rise(&outline(&truth, n), foot).unwrap();
            prop_assert!((rise.value - out).abs() < 1e-6);
        }

        #[test]
        fn any_marks_give_an_ellipse_or_a_reason(
            marks in proptest::collection::vec((0.0..1600.0_f64, 0.0..1200.0_f64), 0..9),
            foot in (0.0..1600.0_f64, 0.0..1200.0_f64),
        ) {
            let marks: Vec<Point> = marks.into_iter().map(|(x, y)| Point::new(x, y)).collect();
            if let Ok(index) = rise(&marks, Point::new(foot.0, foot.1)) {
                prop_assert!(index.value.is_finite() && index.error.is_finite());
            }
        }
    }
}
