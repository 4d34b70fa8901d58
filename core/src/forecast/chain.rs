//! One chain: the days on which stages were reached, drawn within their looks, and the four steps given them.

use super::{
    block::{Block, Sums, Without},
    data::{Data, Known},
    design::Design,
    normal,
};
use crate::evidence::random::Random;

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
        let mut chain = Self {
            rows,
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
        // The odds of staying blind, which the first step carries, move the slowest of all.
        for _ in 0..2 {
            self.blocks[0].turn(&mut self.random, burning);
        }
        for block in &mut self.blocks {
            block.turn(&mut self.random, burning);
        }
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
