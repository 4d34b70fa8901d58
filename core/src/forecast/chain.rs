//! One chain: the days on which stages were reached, drawn within their looks, and the four steps given them.

use super::{
    block::{Block, Sums, Without},
    data::{Data, Known},
    design::Design,
    normal,
};
use crate::evidence::random::Random;
use crate::order::Order as _;

/// Days after its scape on which a pot is first taken to be fit to sell, to begin with.
const FIRST_GUESS_DAYS: f64 = 8.0;

/// One cycle in numbers: days since its origin.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) cell: usize,
    /// Stages reached.
    pub(super) reached: usize,
    pub(super) after: [f64; 4],
    pub(super) by: [f64; 4],
    /// The next stage was not reached by this day.
    pub(super) not_by: f64,
    /// The first stage came before the origin, so that the first duration says nothing.
    pub(super) early: bool,
    /// It became fit to sell between its scape and what is known of its flower, and nobody said when.
    fit_unseen: bool,
    /// Where the reached stages are now taken to have been.
    pub(super) on: [f64; 4],
}

impl Row {
    /// The numbers of a cycle; its bounds made to agree with the order of the stages.
    pub(super) fn of(stages: &[Known; 4], cell: usize) -> Self {
        let mut row = Self {
            cell,
            reached: 0,
            after: [0.0; 4],
            by: [f64::INFINITY; 4],
            not_by: 0.0,
            early: false,
            fit_unseen: false,
            on: [0.0; 4],
        };
        for (k, known) in stages.iter().enumerate() {
            match known {
                Known::Between { after, by } => {
                    row.after[k] = f64::from(*after);
                    row.by[k] = f64::from(*by);
                    row.reached = k + 1;
                }
                Known::NotBy(day) => {
                    row.not_by = f64::from(*day);
                    break;
                }
                // Between a scape and what is known of its flower the pot became fit to sell unseen.
                Known::NotSaid if k == 1 && row.reached == 1 && stages[2] != Known::NotSaid => {
                    row.after[1] = row.after[0];
                    row.reached = 2;
                    row.fit_unseen = true;
                }
                Known::NotSaid => break,
            }
        }
        row.agree();
        row.place();
        row
    }

    /// No stage is later than one after it, and every interval has room.
    fn agree(&mut self) {
        for k in (0..self.reached).rev() {
            if k + 1 < self.reached {
                self.by[k] = self.by[k].min(self.by[k + 1]);
            }
            self.after[k] = self.after[k].min(self.by[k] - 1.0);
        }
        for k in 1..self.reached {
            self.after[k] = self.after[k].max(self.after[k - 1]);
        }
        if self.reached > 0 {
            self.early = self.by[0] <= 0.0;
            if !self.early {
                self.after[0] = self.after[0].max(0.0);
            }
        }
    }

    /// Stages spread over their intervals, to begin with.
    fn place(&mut self) {
        let mut before = f64::NEG_INFINITY;
        for k in 0..self.reached {
            let least = self.after[k].max(before);
            self.on[k] = if self.by[k].is_finite() {
                least + (self.by[k] - least) / (self.reached - k + 1) as f64
            } else {
                least + FIRST_GUESS_DAYS
            };
            before = self.on[k];
        }
    }

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
        (self.on[2] - self.on[0], 1.0 / (1.0 + (-ln_ratio).exp()))
    }

    /// The day from which step `k` counts.
    pub(super) fn from(&self, k: usize) -> f64 {
        if k == 0 { 0.0 } else { self.on[k - 1] }
    }
}

/// The state of one chain.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    pub(super) rows: Vec<Row>,
    pub(super) blocks: [Block; 4],
    random: Random,
    /// Bulbs without a scape, which do not change: by cell and day.
    still_without: Vec<Without>,
    /// Rows whose day of being fit to sell nobody saw, those first that flowered.
    fit_unseen: Vec<usize>,
    /// How far [`Chain::move_unseen`] goes with each effect, then with the spreads of the two steps.
    far: Vec<f64>,
}

/// Medians and steepness (1 ÷ spread) of the steps by cell, to look up.
struct Table {
    median: [Vec<f64>; 4],
    steep: [f64; 4],
}

impl Table {
    /// Log density of a duration in a step but for a constant.
    fn ln_density(&self, step: usize, cell: usize, days: f64) -> f64 {
        let days = days.max(1e-12);
        let ln_days = normal::ln(days);
        let z = (ln_days - self.median[step][cell]) * self.steep[step];
        -ln_days - 0.5 * z * z
    }

    /// Log probability that a step takes longer.
    fn ln_longer(&self, step: usize, cell: usize, days: f64) -> f64 {
        if days <= 0.0 {
            return 0.0;
        }
        normal::ln_upper((normal::ln(days) - self.median[step][cell]) * self.steep[step])
    }
}

impl Chain {
    pub(super) fn new(data: &Data, design: &Design, cells: &[usize], seed: u64) -> Self {
        let rows: Vec<Row> = data
            .courses
            .iter()
            .zip(cells)
            .map(|(course, cell)| Row::of(&course.stages, *cell))
            .collect();
        let mut still: std::collections::BTreeMap<(usize, i64), f64> =
            std::collections::BTreeMap::new();
        for row in rows
            .iter()
            .filter(|row| row.reached == 0 && row.not_by > 0.0)
        {
            *still.entry((row.cell, row.not_by as i64)).or_default() += 1.0;
        }
        let still_without = still
            .into_iter()
            .map(|((cell, day), n)| Without {
                cell,
                ln_days: (day as f64).ln(),
                n,
            })
            .collect();
        let mut fit_unseen: Vec<usize> =
            (0..rows.len()).filter(|at| rows[*at].fit_unseen).collect();
        fit_unseen.order_by_key(|at| rows[*at].reached < 3);
        let mut chain = Self {
            rows,
            fit_unseen,
            far: vec![0.2; design.n_columns(false) + 2],
            blocks: std::array::from_fn(|step| Block::new(step, design)),
            random: Random::new(seed),
            still_without,
        };
        chain.sum_up();
        for block in &mut chain.blocks {
            block.settle();
        }
        chain
    }

    /// One turn of everything.
    pub(super) fn turn(&mut self, burning: Option<usize>) {
        // Days within looks and spreads hold each other back most, so they take turns more often.
        for _ in 0..2 {
            self.draw_days();
            self.sum_up();
            for block in &mut self.blocks {
                block.draw_spread(&mut self.random, burning);
            }
        }
        self.move_unseen(burning.is_some());
        // The odds of staying blind, which the first step carries, move the slowest of all.
        self.blocks[0].turn(&mut self.random, burning);
        for block in &mut self.blocks {
            block.turn(&mut self.random, burning);
        }
    }

    /// Moves many days at once on which pots became fit to sell unseen, and the numbers of the two steps beside with
    /// them. One by one, days and numbers would hold each other in place: only the sum of the two steps was seen.
    ///
    /// What moves is the logarithm of the ratio of a row's two durations. Either way back is the same with the sign
    /// changed, and in these coordinates the densities of both durations have no other factor, so that a move is
    /// accepted by the change of the density alone, for spreads with the volume that the days took up more
    /// (Liu & Sabatti 2000, Biometrika 87:353).
    fn move_unseen(&mut self, burning: bool) {
        if self.fit_unseen.is_empty() {
            return;
        }
        let n_columns = self.blocks[1].x.len();
        let any = (self.random.unit() * n_columns as f64) as usize;
        for what in [0, any, n_columns, n_columns + 1] {
            let before: Vec<f64> = self
                .fit_unseen
                .iter()
                .map(|at| self.rows[*at].on[1])
                .collect();
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
        if what < block.x.len() {
            &mut block.x[what]
        } else {
            &mut block.theta[0]
        }
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
                let change = if n_flowered > 0.0 {
                    follow[0] / n_flowered
                } else {
                    by
                };
                row.on[1] = row.on[0] + first * change.exp();
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
        let mut volume = 0.0;
        let (mut squares, mut squares_then) = (1e-9, 1e-9);
        for at in &self.fit_unseen {
            let row = &mut self.rows[*at];
            let flowered = row.reached >= 3;
            if !flowered && step == 2 {
                continue;
            }
            let [own, rest] = if step == 1 {
                [row.first(), row.second()]
            } else {
                [row.second(), row.first()]
            };
            let middle = self.blocks[step].median(row.cell);
            let longer = (middle + (normal::ln(own) - middle) * by.exp()).exp();
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
            row.on[1] = if step == 1 {
                row.on[0] + longer
            } else {
                row.on[2] - longer
            };
        }
        self.blocks[step].theta[0] += by;
        self.blocks[other].theta[0] += 0.5 * (squares_then / squares).ln();
        (kept, volume)
    }

    fn sum_up(&mut self) {
        for block in &mut self.blocks {
            block.sums.fill(Sums::default());
            block.without.clear();
        }
        self.blocks[0]
            .without
            .extend_from_slice(&self.still_without);
        for row in &self.rows {
            for k in 0..row.reached {
                let sums = &mut self.blocks[k].sums[row.cell];
                sums.reached += 1.0;
                if k == 0 && row.early {
                    continue;
                }
                let y = (row.on[k] - row.from(k)).max(1e-9);
                let y = normal::ln(y);
                sums.n += 1.0;
                sums.y += y;
                sums.yy += y * y;
            }
            if (1..4).contains(&row.reached) {
                let days = row.not_by - row.from(row.reached);
                if days > 0.0 {
                    self.blocks[row.reached].without.push(Without {
                        cell: row.cell,
                        ln_days: days.ln(),
                        n: 1.0,
                    });
                }
            }
        }
    }

    /// Days of reached stages, one after another, each by slice sampling within its bounds (Neal 2003, Annals of
    /// Statistics 31:705, with shrinkage from the whole interval).
    fn draw_days(&mut self) {
        let n_cells = self.blocks[0].sums.len();
        let table = Table {
            median: std::array::from_fn(|k| {
                (0..n_cells)
                    .map(|cell| self.blocks[k].median(cell))
                    .collect()
            }),
            steep: std::array::from_fn(|k| 1.0 / self.blocks[k].spread()),
        };
        for row in &mut self.rows {
            for k in 0..row.reached {
                if row.by[k].is_finite() {
                    slice(row, k, &table, &mut self.random);
                } else {
                    leap(row, k, &table, &mut self.random);
                }
            }
        }
    }
}

/// Log density of stage `k` of a row on a day, given the stages beside it.
fn ln_density(row: &Row, k: usize, on: f64, table: &Table) -> f64 {
    let mut sum = if k == 0 && row.early {
        0.0
    } else {
        table.ln_density(k, row.cell, on - row.from(k))
    };
    if k + 1 < row.reached {
        sum += table.ln_density(k + 1, row.cell, row.on[k + 1] - on);
    } else if k + 1 < 4 {
        sum += table.ln_longer(k + 1, row.cell, row.not_by - on);
    }
    sum
}

fn slice(row: &mut Row, k: usize, table: &Table, random: &mut Random) {
    let mut low = row.after[k];
    if k > 0 {
        low = low.max(row.on[k - 1]);
    }
    let mut high = row.by[k];
    if k + 1 < row.reached {
        high = high.min(row.on[k + 1]);
    }
    let level = ln_density(row, k, row.on[k], table) - normal::draw_exponential(random);
    for _ in 0..60 {
        let on = low + (high - low) * random.unit();
        if on > low && ln_density(row, k, on, table) >= level {
            row.on[k] = on;
            return;
        }
        if on < row.on[k] {
            low = on;
        } else {
            high = on;
        }
    }
}

/// A stage that nobody saw and nothing bounds: proposed from its own step, accepted by what comes after.
fn leap(row: &mut Row, k: usize, table: &Table, random: &mut Random) {
    let ln_days = table.median[k][row.cell] + normal::draw(random) / table.steep[k];
    let on = row.from(k) + ln_days.exp();
    let bound = if k + 1 < row.reached {
        row.on[k + 1]
    } else {
        f64::INFINITY
    };
    if on <= row.after[k] || on >= bound {
        return;
    }
    let after = |on: f64| {
        if k + 1 < row.reached {
            table.ln_density(k + 1, row.cell, row.on[k + 1] - on)
        } else {
            table.ln_longer(k + 1, row.cell, row.not_by - on)
        }
    };
    if normal::draw_exponential(random) > after(row.on[k]) - after(on) {
        row.on[k] = on;
    }
}
