//! A card's four corners, proposed from the brightness of a picture.
//!
//! Edges (Sobel, thinned), straight lines among them (Hough transform in which each edge votes for its own direction and
//! side), four lines that enclose something of a card's shape with edges all along, then each side fitted anew to where
//! the brightness changes most. A proposal is nothing more: a person confirms it.

use serde::{Deserialize, Serialize};

use super::{Point, plane};

/// The longer edge to which a picture is shrunk before it is searched.
pub const EDGE_PX: u32 = 800;
/// Directions that votes are counted in, over half a turn: along one side a card may be darker here and brighter there
/// than what lies beneath it.
const N_DIRECTIONS: usize = 90;
/// Width of a band of distances, in pixels.
const BAND_PX: f32 = 2.0;
/// Lines that are looked at.
const N_LINES: usize = 140;
/// Share of pixels that may be edges.
const EDGE_SHARE: f32 = 0.25;
/// Edges that do not run straight for so many pixels are of leaves, wood and mix.
const STRAIGHT_PX_MIN: f64 = 7.0;
/// How wide a straight run may be, as the spread of its edges across it.
const STRAIGHT_WIDTH_MAX: f64 = 2.6;
/// A side that has edges along less of it is no side.
const ALONG_MIN: f64 = 0.25;
/// The same of all four sides together.
const MEAN_MIN: f64 = 0.7;
/// A card that is smaller in the shrunk picture is not looked for.
const SIDE_PX_MIN: f64 = 24.0;
/// How far a found shape may be from a card's.
const MISFIT_MAX: f64 = 0.12;
/// The same before its sides are fitted anew: a pixel more or less makes much of it.
const ROUGH_MISFIT_MAX: f64 = 0.35;
/// How much the shape counts beside edges all along the sides.
const MISFIT_WEIGHT: f64 = 8.0;
/// How many are fitted anew.
const N_REFINED: usize = 100;

/// The brightness of a picture, row by row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Grey {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Brightness of each pixel.
    pub pixels: Vec<u8>,
}

impl Grey {
    /// From red, green, blue and opacity of each pixel (luma weights of ITU-R BT.601).
    pub fn of_rgba(width: u32, height: u32, rgba: &[u8]) -> Self {
        let luma = |p: &[u8]| ((u32::from(p[0]) * 77 + u32::from(p[1]) * 150 + u32::from(p[2]) * 29) >> 8) as u8;
        Self { width, height, pixels: rgba.chunks_exact(4).map(luma).collect() }
    }
}

/// Where a card's corners may be, in pixels of this picture, in order around it; nothing where none was found.
pub fn find(grey: &Grey) -> Option<[Point; 4]> {
    let edges = Edges::of(grey)?;
    let lines = edges.lines();
    let (width, height) = (f64::from(grey.width), f64::from(grey.height));
    let mut best: Option<(f64, [Point; 4])> = None;
    for (score, corners) in quads(&lines, width, height) {
        let Some(corners) = edges.refined(corners) else { continue };
        let misfit = plane::misfit_either(&corners, width, height);
        let score = score - MISFIT_WEIGHT * misfit;
        if misfit <= MISFIT_MAX && best.is_none_or(|(most, _)| score > most) {
            best = Some((score, corners));
        }
    }
    let (_, corners) = best?;
    // A pixel's middle is half a pixel from its corner.
    let corners = corners.map(|corner| Point::new(corner.x + 0.5, corner.y + 0.5));
    plane::card(corners, width, height).ok()
}

/// Edges of a picture: how strongly and in which direction brightness rises.
struct Edges {
    width: usize,
    height: usize,
    rise_x: Vec<f32>,
    rise_y: Vec<f32>,
    /// Thin edges: their pixels.
    thin: Vec<(u16, u16)>,
    /// Those of them that run straight.
    straight: Vec<(u16, u16)>,
}

impl Edges {
    fn of(grey: &Grey) -> Option<Self> {
        let (width, height) = (grey.width as usize, grey.height as usize);
        if width < 32 || height < 32 || width > 4096 || height > 4096 || grey.pixels.len() != width * height {
            return None;
        }
        let smooth = smoothed(&grey.pixels, width, height);
        let mut rise_x = vec![0.0; width * height];
        let mut rise_y = vec![0.0; width * height];
        for y in 1..height - 1 {
            for x in 1..width - 1 {
                let at = y * width + x;
                let p = |dx: usize, dy: usize| smooth[at + dx + dy * width - width - 1];
                rise_x[at] = p(2, 0) + 2.0 * p(2, 1) + p(2, 2) - p(0, 0) - 2.0 * p(0, 1) - p(0, 2);
                rise_y[at] = p(0, 2) + 2.0 * p(1, 2) + p(2, 2) - p(0, 0) - 2.0 * p(1, 0) - p(2, 0);
            }
        }
        let mut edges = Self { width, height, rise_x, rise_y, thin: Vec::new(), straight: Vec::new() };
        edges.thin = edges.thinned();
        edges.straight = edges.straight();
        Some(edges)
    }

    fn strength2(&self, at: usize) -> f32 {
        self.rise_x[at] * self.rise_x[at] + self.rise_y[at] * self.rise_y[at]
    }

    /// Pixels that are stronger than their neighbours across the edge, of the strongest share of all.
    fn thinned(&self) -> Vec<(u16, u16)> {
        // Strengths are counted in classes, so that nothing has to be sorted.
        const CLASSES: usize = 1024;
        let mut counts = [0_u32; CLASSES];
        let class = |strength2: f32| (strength2.sqrt() as usize).min(CLASSES - 1);
        let mut maxima = Vec::new();
        for y in 2..self.height - 2 {
            for x in 2..self.width - 2 {
                let at = y * self.width + x;
                let strength2 = self.strength2(at);
                // Noise of a few levels.
                if strength2 < 24.0 * 24.0 {
                    continue;
                }
                let (dx, dy) = (self.rise_x[at], self.rise_y[at]);
                // The neighbour across, of eight.
                let (sx, sy) = if dx.abs() > 2.4 * dy.abs() {
                    (1, 0)
                } else if dy.abs() > 2.4 * dx.abs() {
                    (0, 1)
                } else {
                    (1, if dx * dy > 0.0 { 1 } else { -1 })
                };
                let step = (sx + sy * self.width as isize) as usize;
                if strength2 >= self.strength2(at.wrapping_add(step))
                    && strength2 > self.strength2(at.wrapping_sub(step))
                {
                    counts[class(strength2)] += 1;
                    maxima.push((x as u16, y as u16, class(strength2) as u16));
                }
            }
        }
        let most = (EDGE_SHARE * (self.width * self.height) as f32) as u32;
        let mut least = CLASSES;
        let mut n = 0;
        while least > 0 && n + counts[least - 1] <= most {
            least -= 1;
            n += counts[least];
        }
        maxima.into_iter().filter(|(.., class)| usize::from(*class) >= least).map(|(x, y, _)| (x, y)).collect()
    }

    /// Those of the thin edges that run straight: chains of neighbours with nearly the same direction, long and narrow.
    fn straight(&self) -> Vec<(u16, u16)> {
        const FREE: u8 = 1;
        let mut state = vec![0_u8; self.width * self.height];
        for (x, y) in &self.thin {
            state[usize::from(*y) * self.width + usize::from(*x)] = FREE;
        }
        let mut kept = Vec::new();
        let mut chain: Vec<usize> = Vec::new();
        for (x, y) in &self.thin {
            let seed = usize::from(*y) * self.width + usize::from(*x);
            if state[seed] != FREE {
                continue;
            }
            chain.clear();
            chain.push(seed);
            state[seed] = 0;
            let unit = |at: usize| {
                let size = self.strength2(at).sqrt();
                (self.rise_x[at] / size, self.rise_y[at] / size)
            };
            let (mut sum_x, mut sum_y) = unit(seed);
            let mut next = 0;
            while next < chain.len() {
                let at = chain[next];
                next += 1;
                for dy in -2..=2_isize {
                    for dx in -2..=2_isize {
                        let other = at as isize + dy * self.width as isize + dx;
                        // Thin edges keep two pixels off the picture's rim.
                        let other = other as usize;
                        if state.get(other) != Some(&FREE) {
                            continue;
                        }
                        let (ux, uy) = unit(other);
                        let size = (sum_x * sum_x + sum_y * sum_y).sqrt();
                        // Within 20 degrees of the chain's own direction so far.
                        if ux * sum_x + uy * sum_y > 0.94 * size {
                            state[other] = 0;
                            sum_x += ux;
                            sum_y += uy;
                            chain.push(other);
                        }
                    }
                }
            }
            if chain.len() < 10 {
                continue;
            }
            let place = |at: &usize| ((at % self.width) as f64, (at / self.width) as f64);
            let n = chain.len() as f64;
            let (mx, my) = chain.iter().map(place).fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / n, sum.1 + p.1 / n));
            let (mut cxx, mut cxy, mut cyy) = (0.0, 0.0, 0.0);
            for (x, y) in chain.iter().map(place) {
                cxx += (x - mx) * (x - mx) / n;
                cxy += (x - mx) * (y - my) / n;
                cyy += (y - my) * (y - my) / n;
            }
            let apart = ((cxx - cyy) * (cxx - cyy) + 4.0 * cxy * cxy).sqrt();
            // An even run of this length has a twelfth of its square as spread.
            let along = (6.0 * (cxx + cyy + apart)).sqrt();
            let across = (6.0 * (cxx + cyy - apart)).max(0.0).sqrt();
            if along >= STRAIGHT_PX_MIN && across <= STRAIGHT_WIDTH_MAX {
                kept.extend(chain.iter().map(|at| ((at % self.width) as u16, (at / self.width) as u16)));
            }
        }
        kept
    }

    /// The straight lines with most edges.
    fn lines(&self) -> Vec<Line> {
        let half = ((self.width * self.width + self.height * self.height) as f32).sqrt();
        let n_bands = (2.0 * half / BAND_PX) as usize + 2;
        let mut votes = vec![0_u16; N_DIRECTIONS * n_bands];
        let turn = std::f32::consts::PI / N_DIRECTIONS as f32;
        let directions: Vec<(f32, f32)> = (0..N_DIRECTIONS).map(|d| (d as f32 * turn).sin_cos()).collect();
        for (x, y) in &self.straight {
            let at = usize::from(*y) * self.width + usize::from(*x);
            let angle = self.rise_y[at].atan2(self.rise_x[at]);
            let middle = (angle / turn).round() as isize;
            for off in -2..=2 {
                // Two half turns make a whole one.
                let d = (middle + off).rem_euclid(N_DIRECTIONS as isize) as usize;
                let (sin, cos) = directions[d];
                let band = ((f32::from(*x) * cos + f32::from(*y) * sin + half) / BAND_PX) as usize;
                let vote = &mut votes[d * n_bands + band];
                *vote = vote.saturating_add(1);
            }
        }
        let mut lines: Vec<Line> = Vec::new();
        let least = (self.width.min(self.height) / 24).max(12) as u16;
        let mut peaks: Vec<(u16, usize)> = Vec::new();
        for d in 0..N_DIRECTIONS {
            for band in 1..n_bands - 1 {
                let at = d * n_bands + band;
                let here = votes[at];
                if here >= least && here >= votes[at - 1] && here > votes[at + 1] {
                    peaks.push((here, at));
                }
            }
        }
        peaks.sort_by(|a, b| b.cmp(a));
        for (_, at) in peaks {
            let (d, band) = (at / n_bands, at % n_bands);
            let near = |line: &Line| {
                let turned = d.abs_diff(line.direction);
                // Half a turn further the distance has the other sign.
                let other = (n_bands - 2).abs_diff(band + line.band) <= 4;
                turned <= 3 && band.abs_diff(line.band) <= 3 || N_DIRECTIONS - turned <= 3 && other
            };
            if lines.iter().any(near) {
                continue;
            }
            let (sin, cos) = directions[d];
            let away = (band as f32 + 0.5) * BAND_PX - half;
            if let Some(line) = self.line(d, band, (f64::from(cos), f64::from(sin)), f64::from(away)) {
                lines.push(line);
            }
            if lines.len() == N_LINES {
                break;
            }
        }
        lines
    }

    /// A line fitted to the edges near it, with where along it there are any.
    fn line(&self, direction: usize, band: usize, mut normal: (f64, f64), mut away: f64) -> Option<Line> {
        let mut near: Vec<(f64, f64)> = Vec::new();
        for reach in [4.0, 2.0] {
            near.clear();
            let (mut sx, mut sy, mut sxx, mut sxy, mut syy) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for (x, y) in &self.straight {
                let (px, py) = (f64::from(*x), f64::from(*y));
                if (px * normal.0 + py * normal.1 - away).abs() > reach {
                    continue;
                }
                let at = usize::from(*y) * self.width + usize::from(*x);
                let (dx, dy) = (f64::from(self.rise_x[at]), f64::from(self.rise_y[at]));
                // Within 20 degrees of the line.
                let along = dx * normal.0 + dy * normal.1;
                if along * along < 0.88 * (dx * dx + dy * dy) {
                    continue;
                }
                near.push((px, py));
                sx += px;
                sy += py;
                sxx += px * px;
                sxy += px * py;
                syy += py * py;
            }
            let n = near.len() as f64;
            if n < 10.0 {
                return None;
            }
            let (mx, my) = (sx / n, sy / n);
            let (cxx, cxy, cyy) = (sxx / n - mx * mx, sxy / n - mx * my, syy / n - my * my);
            // The direction in which they spread least.
            let half = 0.5 * (2.0 * cxy).atan2(cxx - cyy);
            let (sin, cos) = half.sin_cos();
            let fitted = if -sin * normal.0 + cos * normal.1 >= 0.0 { (-sin, cos) } else { (sin, -cos) };
            normal = fitted;
            away = mx * normal.0 + my * normal.1;
        }
        let half = (self.width + self.height) as f64;
        let mut there = vec![false; 2 * (self.width + self.height) + 8];
        for (x, y) in near {
            let along = y * normal.0 - x * normal.1;
            let at = (along + half) as usize + 2;
            for place in there.iter_mut().skip(at - 2).take(5) {
                *place = true;
            }
        }
        let mut sum = 0;
        let mut upto = Vec::with_capacity(there.len() + 1);
        upto.push(0);
        for place in there {
            sum += u32::from(place);
            upto.push(sum);
        }
        Some(Line { direction, band, normal, away, half, upto })
    }

    /// Each side anew where brightness changes most across it, to parts of a pixel.
    fn refined(&self, corners: [Point; 4]) -> Option<[Point; 4]> {
        let center =
            Point::new(corners.iter().map(|c| c.x).sum::<f64>() / 4.0, corners.iter().map(|c| c.y).sum::<f64>() / 4.0);
        let mut sides = Vec::new();
        for at in 0..4 {
            sides.push(self.refined_side(corners[at], corners[(at + 1) % 4], center)?);
        }
        let mut refined = [Point::new(0.0, 0.0); 4];
        for at in 0..4 {
            refined[at] = crossing(sides[(at + 3) % 4], sides[at])?;
            if refined[at].distance(corners[at]) > 8.0 {
                return None;
            }
        }
        Some(refined)
    }

    fn refined_side(&self, from: Point, to: Point, center: Point) -> Option<((f64, f64), f64)> {
        let length = from.distance(to);
        let (ux, uy) = ((to.x - from.x) / length, (to.y - from.y) / length);
        let mut normal = (-uy, ux);
        if (center.x - from.x) * normal.0 + (center.y - from.y) * normal.1 < 0.0 {
            normal = (-normal.0, -normal.1);
        }
        const REACH: isize = 4;
        let n = ((length * 0.8) as usize).clamp(12, 160);
        let mut profiles = vec![[0.0; (2 * REACH + 1) as usize]; n];
        for (at, profile) in profiles.iter_mut().enumerate() {
            let along = length * (0.1 + 0.8 * (at as f64 + 0.5) / n as f64);
            for (step, value) in profile.iter_mut().enumerate() {
                let off = step as f64 - REACH as f64;
                let (x, y) = (from.x + along * ux + off * normal.0, from.y + along * uy + off * normal.1);
                *value = self.rise_at(x, y, normal)?.abs();
            }
        }
        let mut marks: Vec<(f64, f64)> = Vec::new();
        for (at, profile) in profiles.iter().enumerate() {
            let best = (1..profile.len() - 1).max_by(|a, b| profile[*a].total_cmp(&profile[*b]))?;
            let (before, here, after) = (profile[best - 1], profile[best], profile[best + 1]);
            if here < 12.0 || here < before || here < after {
                continue;
            }
            let bend = before - 2.0 * here + after;
            let part = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
            let along = length * (0.1 + 0.8 * (at as f64 + 0.5) / n as f64);
            marks.push((along, best as f64 - REACH as f64 + part));
        }
        if marks.len() < 8 {
            return None;
        }
        // Through most of them: what is far off is something else beside the card.
        let mut kept = marks.clone();
        let mut line = (0.0, 0.0);
        for reach in [2.5, 1.2, 0.8] {
            line = straight(&kept)?;
            kept = marks.iter().copied().filter(|(x, y)| (y - line.0 - line.1 * x).abs() <= reach).collect();
            if kept.len() < 8 {
                return None;
            }
        }
        if let Some(last) = straight(&kept) {
            line = last;
        }
        let place = |along: f64| {
            let off = line.0 + line.1 * along;
            Point::new(from.x + along * ux + off * normal.0, from.y + along * uy + off * normal.1)
        };
        let (start, end) = (place(0.0), place(length));
        let long = start.distance(end);
        let normal = (-(end.y - start.y) / long, (end.x - start.x) / long);
        Some((normal, start.x * normal.0 + start.y * normal.1))
    }

    /// How brightness rises in a direction, between pixels.
    fn rise_at(&self, x: f64, y: f64, normal: (f64, f64)) -> Option<f64> {
        let (left, top) = (x.floor(), y.floor());
        if left < 1.0 || top < 1.0 || left + 2.0 >= self.width as f64 || top + 2.0 >= self.height as f64 {
            return None;
        }
        let (fx, fy) = (x - left, y - top);
        let at = top as usize * self.width + left as usize;
        let rise = |at: usize| f64::from(self.rise_x[at]) * normal.0 + f64::from(self.rise_y[at]) * normal.1;
        let upper = rise(at) * (1.0 - fx) + rise(at + 1) * fx;
        let lower = rise(at + self.width) * (1.0 - fx) + rise(at + self.width + 1) * fx;
        Some(upper * (1.0 - fy) + lower * fy)
    }
}

/// Every pixel as the mean of those around it (binomial, five wide).
fn smoothed(pixels: &[u8], width: usize, height: usize) -> Vec<f32> {
    let mut across = vec![0.0; pixels.len()];
    for y in 0..height {
        let row = &pixels[y * width..(y + 1) * width];
        let value = |x: isize| f32::from(row[x.clamp(0, width as isize - 1) as usize]);
        for x in 0..width {
            let x0 = x as isize;
            across[y * width + x] = if x >= 2 && x + 2 < width {
                let p = |at: usize| f32::from(row[at]);
                (p(x - 2) + 4.0 * p(x - 1) + 6.0 * p(x) + 4.0 * p(x + 1) + p(x + 2)) / 16.0
            } else {
                (value(x0 - 2) + 4.0 * value(x0 - 1) + 6.0 * value(x0) + 4.0 * value(x0 + 1) + value(x0 + 2)) / 16.0
            };
        }
    }
    let mut both = vec![0.0; pixels.len()];
    for y in 0..height {
        let row = |off: isize| {
            let y = (y as isize + off).clamp(0, height as isize - 1) as usize;
            &across[y * width..(y + 1) * width]
        };
        let (a, b, c, d, e) = (row(-2), row(-1), row(0), row(1), row(2));
        for x in 0..width {
            both[y * width + x] = (a[x] + 4.0 * b[x] + 6.0 * c[x] + 4.0 * d[x] + e[x]) / 16.0;
        }
    }
    both
}

/// A straight line of edges: the points whose product with `normal` is `away`.
struct Line {
    direction: usize,
    band: usize,
    normal: (f64, f64),
    away: f64,
    half: f64,
    /// How many places along the line have edges, up to each.
    upto: Vec<u32>,
}

impl Line {
    fn along(&self, point: Point) -> f64 {
        point.y * self.normal.0 - point.x * self.normal.1
    }

    /// How much of the stretch between two of its points has edges, 0 to 1; its ends, where corners are round, left out.
    fn share(&self, from: Point, to: Point) -> f64 {
        let (a, b) = (self.along(from), self.along(to));
        let (a, b) = (a.min(b), a.max(b));
        let cut = 0.07 * (b - a);
        let place = |along: f64| ((along + self.half) as isize + 2).clamp(0, self.upto.len() as isize - 1) as usize;
        let (from, to) = (place(a + cut), place(b - cut));
        if to <= from { 0.0 } else { f64::from(self.upto[to] - self.upto[from]) / (to - from) as f64 }
    }

    /// How much of the line as a whole has edges beyond these two points, in pixels up to as long as the stretch.
    fn beyond(&self, from: Point, to: Point) -> f64 {
        let (a, b) = (self.along(from), self.along(to));
        let (a, b) = (a.min(b), a.max(b));
        let place = |along: f64| ((along + self.half) as isize + 2).clamp(0, self.upto.len() as isize - 1) as usize;
        let reach = 0.25 * (b - a);
        let n = |from: f64, to: f64| {
            let (from, to) = (place(from), place(to));
            f64::from(self.upto[to.max(from)] - self.upto[from])
        };
        (n(a - reach, a - 0.04 * (b - a)) + n(b + 0.04 * (b - a), b + reach)) / (2.0 * reach)
    }
}

/// The line through marks by least squares: its start and its slope.
fn straight(marks: &[(f64, f64)]) -> Option<(f64, f64)> {
    let n = marks.len() as f64;
    let (mx, my) = (marks.iter().map(|m| m.0).sum::<f64>() / n, marks.iter().map(|m| m.1).sum::<f64>() / n);
    let spread = marks.iter().map(|m| (m.0 - mx).powi(2)).sum::<f64>();
    if spread <= 0.0 {
        return None;
    }
    let slope = marks.iter().map(|m| (m.0 - mx) * (m.1 - my)).sum::<f64>() / spread;
    Some((my - slope * mx, slope))
}

/// Where two lines cross.
fn crossing((a, away_a): ((f64, f64), f64), (b, away_b): ((f64, f64), f64)) -> Option<Point> {
    let det = a.0 * b.1 - a.1 * b.0;
    if det.abs() < 0.15 {
        return None;
    }
    Some(Point::new((away_a * b.1 - away_b * a.1) / det, (a.0 * away_b - b.0 * away_a) / det))
}

/// Fours of lines that look like the sides of something of a card's shape, the best first, with how much they do.
fn quads(lines: &[Line], width: f64, height: f64) -> Vec<(f64, [Point; 4])> {
    let cross = |i: usize, j: usize| crossing((lines[i].normal, lines[i].away), (lines[j].normal, lines[j].away));
    let inside = |p: &Point| p.x > -2.0 && p.y > -2.0 && p.x < width + 2.0 && p.y < height + 2.0;
    let mut found: Vec<(f64, [Point; 4])> = Vec::new();
    let mut between: Vec<(usize, Point, Point, f64)> = Vec::new();
    for (a, side_a) in lines.iter().enumerate() {
        for (c, side_c) in lines.iter().enumerate().skip(a + 1) {
            // Opposite sides are nearly alike in direction.
            let facing = side_a.normal.0 * side_c.normal.0 + side_a.normal.1 * side_c.normal.1;
            if facing.abs() < 0.75 {
                continue;
            }
            // What runs from one to the other with edges all along.
            between.clear();
            for (b, side) in lines.iter().enumerate() {
                let (Some(from), Some(to)) = (cross(a, b), cross(b, c)) else { continue };
                if !(inside(&from) && inside(&to)) || from.distance(to) < SIDE_PX_MIN {
                    continue;
                }
                let share = side.share(from, to);
                if share >= ALONG_MIN {
                    between.push((b, from, to, share));
                }
            }
            for (n, (b, ab, bc, share_b)) in between.iter().enumerate() {
                for (d, da, cd, share_d) in between.iter().skip(n + 1) {
                    let corners = [*da, *ab, *bc, *cd];
                    if corners[0].distance(*ab) < SIDE_PX_MIN || corners[2].distance(*cd) < SIDE_PX_MIN {
                        continue;
                    }
                    let shares = [side_a.share(*da, *ab), *share_b, side_c.share(*bc, *cd), *share_d];
                    let least = shares.iter().copied().fold(f64::INFINITY, f64::min);
                    if least < ALONG_MIN {
                        continue;
                    }
                    let four = [a, *b, c, *d];
                    let sides: [f64; 4] = std::array::from_fn(|at| corners[at].distance(corners[(at + 1) % 4]));
                    let around: f64 = sides.iter().sum();
                    let mean = shares.iter().zip(&sides).map(|(share, side)| share * side).sum::<f64>() / around;
                    if mean < MEAN_MIN {
                        continue;
                    }
                    let misfit = plane::misfit_either(&corners, width, height);
                    if misfit > ROUGH_MISFIT_MAX {
                        continue;
                    }
                    let beyond = |at: usize| lines[four[at]].beyond(corners[at], corners[(at + 1) % 4]);
                    let beyond = (0..4).map(beyond).sum::<f64>() / 4.0;
                    let size = (around / (width + height)).min(1.0);
                    found.push((mean + 0.5 * least - 0.8 * beyond + 0.4 * size.sqrt() - 0.5 * misfit, corners));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(N_REFINED);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers that look random and are the same everywhere.
    struct Random(u64);

    impl Random {
        fn next(&mut self, from: f64, to: f64) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            from + (to - from) * ((self.0 >> 11) as f64 / (1_u64 << 53) as f64)
        }
    }

    /// A card with a stripe and a patch on a bench of boards with a leaf or two: the picture and the true corners.
    fn scene(seed: u64) -> (Grey, [Point; 4]) {
        let mut random = Random(seed.wrapping_mul(7919) + 17);
        for _ in 0..8 {
            random.next(0.0, 1.0);
        }
        let (width, height) = (800_u32, 600_u32);
        let (tilt, around) = (random.next(0.0, 50.0_f64.to_radians()), random.next(0.0, std::f64::consts::TAU));
        let turn = random.next(0.0, std::f64::consts::TAU);
        let focal = random.next(0.7, 1.05) * 800.0;
        let away = focal * plane::CARD_MM.0 / random.next(130.0, 280.0);
        let (x0, y0) = (random.next(-0.15, 0.15) * away, random.next(-0.1, 0.1) * away);
        let seen = |x_mm: f64, y_mm: f64| {
            let (x, y) = (x_mm - plane::CARD_MM.0 / 2.0, y_mm - plane::CARD_MM.1 / 2.0);
            let (x, y) = (x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos());
            // Tilted about an axis in its plane.
            let across = -x * around.sin() + y * around.cos();
            let (dx, dy) = (-around.sin() * across, around.cos() * across);
            let (x, y, z) = (x + dx * (tilt.cos() - 1.0), y + dy * (tilt.cos() - 1.0), across * tilt.sin());
            let z = away + z;
            Point::new(400.0 + focal * (x + x0) / z, 300.0 + focal * (y + y0) / z)
        };
        let (w, h) = plane::CARD_MM;
        let corners = [seen(0.0, 0.0), seen(w, 0.0), seen(w, h), seen(0.0, h)];
        let bench = random.next(60.0, 150.0);
        let card = if random.next(0.0, 1.0) < 0.5 { bench - 45.0 } else { bench + random.next(40.0, 90.0) };
        let (stripe, patch) = (random.next(-40.0, 40.0), random.next(-40.0, 40.0));
        let (boards, slant) = (random.next(50.0, 110.0), random.next(0.0, 3.1));
        let leaf =
            (random.next(0.0, 800.0), random.next(0.0, 600.0), random.next(60.0, 130.0), random.next(-40.0, 40.0));
        let to_card = plane::to_card(&corners).unwrap();
        let lit = |x: f64, y: f64| {
            if let Some((u, v)) = to_card(Point::new(x, y))
                && (0.0..1.0).contains(&u)
                && (0.0..1.0).contains(&v)
            {
                let (u, v) = (u * w, v * h);
                // Corners are round, of radius 3.18 mm.
                let (cu, cv) = ((u.min(w - u) - 3.18).min(0.0), (v.min(h - v) - 3.18).min(0.0));
                if cu * cu + cv * cv <= 3.18 * 3.18 {
                    let on_stripe = (7.0..17.0).contains(&v);
                    let on_patch = (12.0..25.0).contains(&u) && (28.0..40.0).contains(&v);
                    return card
                        + if on_stripe {
                            stripe
                        } else if on_patch {
                            patch
                        } else {
                            0.0
                        };
                }
            }
            let in_leaf = ((x - leaf.0) / leaf.2).powi(2) + ((y - leaf.1) / 40.0).powi(2) < 1.0;
            let gap = (x * slant.cos() + y * slant.sin()).rem_euclid(boards) < 2.0;
            bench
                + if in_leaf {
                    leaf.3
                } else if gap {
                    -30.0
                } else {
                    6.0 * (x / 37.0).sin() * (y / 23.0).cos()
                }
        };
        let mut pixels = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let quarters = [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)];
                let mean = quarters.iter().map(|(a, b)| lit(f64::from(x) + a, f64::from(y) + b)).sum::<f64>() / 4.0;
                let noise = random.next(-1.0, 1.0) + random.next(-1.0, 1.0) + random.next(-1.0, 1.0);
                pixels.push((mean + 3.0 * noise).clamp(0.0, 255.0) as u8);
            }
        }
        (Grey { width, height, pixels }, corners)
    }

    /// How far the worst corner is off, whichever comes first.
    fn off(found: [Point; 4], truth: [Point; 4]) -> f64 {
        let worst = |first: usize, back: bool| {
            let at = |n: usize| if back { (first + 4 - n) % 4 } else { (first + n) % 4 };
            (0..4).map(|n| found[at(n)].distance(truth[n])).fold(0.0, f64::max)
        };
        let all = (0..4).flat_map(|first| [worst(first, false), worst(first, true)]);
        all.fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn at_least_four_in_five_cards_are_found_within_three_pixels_of_a_kept_picture() {
        const SCENES: u64 = 15;
        // The picture that is searched is half as large as one that is kept.
        let found = (0..SCENES).filter(|seed| {
            let (grey, truth) = scene(*seed);
            find(&grey).is_some_and(|corners| off(corners, truth) * 2.0 <= 3.0)
        });
        let n = found.count();
        assert!(n as u64 * 5 >= SCENES * 4, "{n} of {SCENES}");
    }

    #[test]
    fn a_picture_without_a_card_or_without_anything_gives_none() {
        let plain = Grey { width: 200, height: 150, pixels: vec![128; 200 * 150] };
        assert_eq!(find(&plain), None);
        assert_eq!(find(&Grey { width: 200, height: 150, pixels: vec![0; 7] }), None);
        assert_eq!(find(&Grey { width: 4, height: 4, pixels: vec![0; 16] }), None);
    }
}
