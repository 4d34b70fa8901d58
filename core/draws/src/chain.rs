//! One chain: the days on which stages were reached, drawn within their looks, and the four steps given them.

use crate::{
    block::{Block, Sums, Without},
    normal,
    random::Random,
    terms::{Beliefs, BlindBeliefs, Layout},
};

/// What is known of one stage in one cycle, in days since the cycle's origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// Reached after the first and not later than the second.
    Between(f64, f64),
    /// Not reached by this day.
    NotBy(f64),
    /// Nothing is known.
    NotSaid,
}

/// Days after its scape on which a pot is first taken to be fit to sell, to begin with.
const FIRST_GUESS_DAYS: f64 = 8.0;

/// One cycle in numbers: days since its origin.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its cell.
    pub cell: usize,
    /// Stages reached.
    pub reached: usize,
    /// Not reached by this day, by stage.
    pub after: [f64; 4],
    /// Reached by this day; infinite where nothing bounds it.
    pub by: [f64; 4],
    /// The next stage was not reached by this day.
    pub not_by: f64,
    /// The first stage came before the origin, so that the first duration says nothing.
    pub early: bool,
    /// It became fit to sell between its scape and what is known of its flower, and nobody said when.
    fit_unseen: bool,
    /// Where the reached stages are now taken to have been.
    pub on: [f64; 4],
}

impl Row {
    /// The numbers of a cycle; its bounds made to agree with the order of the stages.
    pub fn of(stages: &[Seen; 4], cell: usize) -> Self {
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
                Seen::Between(after, by) => {
                    row.after[k] = *after;
                    row.by[k] = *by;
                    row.reached = k + 1;
                }
                Seen::NotBy(day) => {
                    row.not_by = *day;
                    break;
                }
                // Between a scape and what is known of its flower the pot became fit to sell unseen.
                Seen::NotSaid if k == 1 && row.reached == 1 && stages[2] != Seen::NotSaid => {
                    row.after[1] = row.after[0];
                    row.reached = 2;
                    row.fit_unseen = true;
                }
                Seen::NotSaid => break,
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
    pub fn from(&self, k: usize) -> f64 {
        if k == 0 { 0.0 } else { self.on[k - 1] }
    }
}

/// The state of one chain.
#[derive(Clone, Debug)]
pub struct Chain {
    /// Cycles.
    pub rows: Vec<Row>,
    /// The numbers of the four steps.
    pub blocks: [Block; 4],
    pub(crate) random: Random,
    /// Bulbs without a scape, which do not change: by cell and day.
    still_without: Vec<Without>,
    /// Rows whose day of being fit to sell nobody saw, those first that flowered.
    pub(crate) fit_unseen: Vec<usize>,
    /// How far [`Chain::move_unseen`] goes with each effect, then with the spreads of the two steps.
    pub(crate) far: Vec<f64>,
    /// Rows that reached some stages and not all, by cell.
    under_way: Vec<usize>,
}

/// Bulbs without a scape: by cell and day.
fn still_without(rows: &[Row], n_cells: usize) -> Vec<Without> {
    let mut still = Vec::new();
    for cell in 0..n_cells {
        let own = rows.iter().filter(|row| row.cell == cell);
        let own = own.filter(|row| row.reached == 0 && row.not_by > 0.0);
        let first = still.len();
        for row in own {
            let ln_days = row.not_by.ln();
            let mut known = still[first..].iter_mut();
            match known.find(|known: &&mut Without| known.ln_days == ln_days) {
                Some(known) => known.n += 1.0,
                None => still.push(Without { cell, ln_days, n: 1.0 }),
            }
        }
    }
    still
}

/// Medians and steepness (1 ÷ spread) of the steps by cell, to look up.
struct Table {
    tails: &'static normal::Tails,
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
        self.tails.ln_upper((normal::ln(days) - self.median[step][cell]) * self.steep[step])
    }
}

impl Chain {
    /// A chain at its beginning, from cycles and what is believed of the four steps.
    pub fn new(rows: Vec<Row>, layout: &Layout, beliefs: &[Beliefs; 4], blind: BlindBeliefs, seed: u64) -> Self {
        let block = |k: usize| Block::new(beliefs[k], (k == 0).then_some(blind), layout);
        let mut chain = Self {
            far: vec![0.2; layout.n_columns(false) + 2],
            blocks: std::array::from_fn(block),
            random: Random::new(seed),
            still_without: still_without(&rows, layout.duration.len()),
            fit_unseen: Vec::new(),
            under_way: Vec::new(),
            rows,
        };
        let of = |which: &dyn Fn(&Row) -> bool| -> Vec<usize> {
            let all = chain.rows.iter().enumerate();
            all.filter(|(_, row)| which(row)).map(|(at, _)| at).collect()
        };
        chain.fit_unseen =
            [of(&|row| row.fit_unseen && row.reached >= 3), of(&|row| row.fit_unseen && row.reached < 3)].concat();
        let cells = 0..layout.duration.len();
        let under_way = cells.flat_map(|cell| of(&|row| row.cell == cell && (1..4).contains(&row.reached)));
        chain.under_way = under_way.collect();
        chain.sum_up();
        for block in &mut chain.blocks {
            block.count();
            block.settle();
        }
        chain
    }

    /// One turn of everything; `burning` is the number of a turn that only settles the chain.
    pub fn turn(&mut self, burning: Option<usize>) {
        // Days within looks and the numbers of their steps hold each other back most, so they take turns more often, and
        // most often the first two stages, whose steps are short against the days between looks.
        self.draw_days(2);
        self.sum_up();
        for block in &mut self.blocks[..2] {
            block.draw_spread(&mut self.random, burning.is_some());
            block.draw_effects(&mut self.random);
        }
        self.draw_days(4);
        self.sum_up();
        self.move_unseen(burning.is_some());
        for block in &mut self.blocks {
            block.draw_spread(&mut self.random, burning.is_some());
        }
        for block in &mut self.blocks {
            block.turn(&mut self.random, burning);
        }
    }

    pub(crate) fn sum_up(&mut self) {
        for block in &mut self.blocks {
            block.sums.fill(Sums::default());
            block.squares = 0.0;
            block.without.clear();
        }
        self.blocks[0].without.extend_from_slice(&self.still_without);
        for row in &self.rows {
            for (k, block) in self.blocks[..row.reached].iter_mut().enumerate() {
                let sums = &mut block.sums[row.cell];
                sums.reached += 1.0;
                if k == 0 && row.early {
                    continue;
                }
                let y = normal::ln((row.on[k] - row.from(k)).max(1e-9));
                sums.n += 1.0;
                sums.y += y;
                block.squares += y * y;
            }
        }
        for at in &self.under_way {
            let row = &self.rows[*at];
            let days = row.not_by - row.from(row.reached);
            if days > 0.0 {
                self.blocks[row.reached].without.push(Without {
                    cell: row.cell,
                    ln_days: normal::ln(days.max(1e-9)),
                    n: 1.0,
                });
            }
        }
        for block in &mut self.blocks {
            block.weigh();
        }
    }

    /// Days of reached stages, one after another, each by slice sampling within its bounds (Neal 2003, Annals of
    /// Statistics 31:705, with shrinkage from the whole interval).
    fn draw_days(&mut self, n_stages: usize) {
        let n_cells = self.blocks[0].sums.len();
        let table = Table {
            tails: normal::tails(),
            median: std::array::from_fn(|k| (0..n_cells).map(|cell| self.blocks[k].median(cell)).collect()),
            steep: std::array::from_fn(|k| 1.0 / self.blocks[k].spread()),
        };
        for row in &mut self.rows {
            for k in 0..row.reached.min(n_stages) {
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
    let mut sum = if k == 0 && row.early { 0.0 } else { table.ln_density(k, row.cell, on - row.from(k)) };
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
    let on = row.from(k) + normal::exp(ln_days);
    let bound = if k + 1 < row.reached { row.on[k + 1] } else { f64::INFINITY };
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
