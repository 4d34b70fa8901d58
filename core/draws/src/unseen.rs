//! Pots that became fit to sell when nobody looked.

use crate::{
    chain::{Chain, Row},
    normal::{self, exp},
};

impl Row {
    /// Days from the scape to being fit to sell.
    fn first(&self) -> f64 {
        (self.on[1] - self.on[0]).max(1e-9)
    }

    /// Days from there to the first flower.
    fn second(&self) -> f64 {
        (self.on[2] - self.on[1]).max(1e-9)
    }

    /// Both together, and which share of them the first takes at a ratio given as its logarithm.
    fn with_ratio(&self, ln_ratio: f64) -> (f64, f64) {
        (self.on[2] - self.on[0], 1.0 / (1.0 + exp(-ln_ratio)))
    }
}

impl Chain {
    /// Moves many days at once on which pots became fit to sell unseen, and the numbers of the two steps beside with
    /// them. One by one, days and numbers would hold each other in place: only the sum of the two steps was seen.
    ///
    /// What moves is the logarithm of the ratio of a row's two durations. Either way back is the same with the sign
    /// changed, and in these coordinates the densities of both durations have no other factor, so that a move is
    /// accepted by the change of the density alone, for spreads with the volume that the days took up more
    /// (Liu & Sabatti 2000, Biometrika 87:353).
    pub(crate) fn move_unseen(&mut self, burning: bool) {
        if self.fit_unseen.is_empty() {
            return;
        }
        let n_columns = self.blocks[1].x.len();
        let any = (self.random.unit() * n_columns as f64) as usize;
        for what in [0, any, n_columns, n_columns + 1] {
            let before: Vec<f64> = self.fit_unseen.iter().map(|at| self.rows[*at].on[1]).collect();
            let now = self.blocks[1].ln_now() + self.blocks[2].ln_now();
            let by = self.far[what] * normal::draw(&mut self.random);
            let (kept, volume) = match what.checked_sub(n_columns) {
                None => (self.shift_unseen(what, by), 0.0),
                Some(step) => self.widen_unseen(step + 1, by),
            };
            self.sum_up();
            let then = self.blocks[1].ln_now() + self.blocks[2].ln_now() + volume;
            let accepted = normal::draw_exponential(&mut self.random) > now - then;
            if !accepted {
                for (at, on) in self.fit_unseen.iter().zip(before) {
                    self.rows[*at].on[1] = on;
                }
                for (k, kept) in [1, 2].into_iter().zip(kept) {
                    *self.number(k, what) = kept;
                }
                self.sum_up();
            }
            if burning {
                let longer = if accepted { 1.08 } else { 0.95 };
                self.far[what] = (self.far[what] * longer).clamp(0.01, 2.0);
            }
        }
    }

    /// What follows a move in a step: one of its effects, or its spread.
    fn number(&mut self, step: usize, what: usize) -> &mut f64 {
        let block = &mut self.blocks[step];
        if what < block.x.len() { &mut block.x[what] } else { &mut block.theta[0] }
    }

    /// All rows that an effect counts for, by the same amount; the effects of both steps follow by what the logarithms
    /// of the durations changed on average. Gives the effects as they were.
    fn shift_unseen(&mut self, column: usize, by: f64) -> [f64; 2] {
        let kept = [1, 2].map(|k| self.blocks[k].x[column]);
        let mut follow = [0.0; 2];
        let mut n_flowered = 0.0;
        for at in &self.fit_unseen {
            let row = &mut self.rows[*at];
            if !self.blocks[1].counts_for(column, row.cell) {
                continue;
            }
            let first = row.first();
            if row.reached < 3 {
                let change = if n_flowered > 0.0 { follow[0] / n_flowered } else { by };
                row.on[1] = row.on[0] + first * exp(change);
                continue;
            }
            let (whole, share) = row.with_ratio(normal::ln(first / row.second()) + by);
            follow[0] += normal::ln(whole * share / first);
            follow[1] += normal::ln(whole * (1.0 - share) / row.second());
            row.on[1] = row.on[0] + whole * share;
            n_flowered += 1.0;
        }
        if n_flowered == 0.0 {
            (follow, n_flowered) = ([by, 0.0], 1.0);
        }
        for (k, follow) in [1, 2].into_iter().zip(follow) {
            self.blocks[k].x[column] += follow / n_flowered;
        }
        kept
    }

    /// The durations of one step away from their middle in proportion, with its spread; the spread of the other step
    /// follows by what that made of its durations. Gives the spreads as they were, and by how much the volume grew, as
    /// its logarithm: nothing when there was no room.
    fn widen_unseen(&mut self, step: usize, by: f64) -> ([f64; 2], f64) {
        let kept = [1, 2].map(|k| self.blocks[k].theta[0]);
        let other = 3 - step;
        let wider = exp(by);
        let mut volume = 0.0;
        let (mut squares, mut squares_then) = (1e-9, 1e-9);
        for at in &self.fit_unseen {
            let row = &mut self.rows[*at];
            let flowered = row.reached >= 3;
            if !flowered && step == 2 {
                continue;
            }
            let [own, rest] = if step == 1 { [row.first(), row.second()] } else { [row.second(), row.first()] };
            let middle = self.blocks[step].median(row.cell);
            let longer = exp(middle + (normal::ln(own) - middle) * wider);
            volume += by;
            if flowered {
                let shorter = own + rest - longer;
                if shorter <= 0.0 {
                    volume = f64::NEG_INFINITY;
                    break;
                }
                let middle = self.blocks[other].median(row.cell);
                let (ln_rest, ln_shorter) = (normal::ln(rest), normal::ln(shorter));
                squares += (ln_rest - middle).powi(2);
                squares_then += (ln_shorter - middle).powi(2);
                volume -= ln_shorter - ln_rest;
            }
            row.on[1] = if step == 1 { row.on[0] + longer } else { row.on[2] - longer };
        }
        self.blocks[step].theta[0] += by;
        self.blocks[other].theta[0] += 0.5 * (squares_then / squares).ln();
        (kept, volume)
    }
}
