//! A walk sheet typed in at a desk: one row a bulb, as on the paper, by keys.

use std::collections::HashMap;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::Bulb;
use bloomdue_core::nursery::walk::{self, Marked};
use bloomdue_words::{acts, sheet as say};
use leptos::prelude::*;

use crate::device::{keys, screen};
use crate::parts::field::fresh_id;

/// The rows, and the cell in which one stands.
#[derive(Clone, Copy)]
struct Grid {
    given: RwSignal<HashMap<Id, Marked>>,
    /// Each bulb with the box that each column has for it.
    rows: StoredValue<Vec<(Id, walk::Row)>>,
    at: RwSignal<(usize, usize)>,
    name: StoredValue<String>,
}

impl Grid {
    fn cell_name(self, row: usize, column: usize) -> String {
        self.name.with_value(|name| format!("{name}-{row}-{column}"))
    }

    /// Goes to a row, in this column where it has a box there, else in the first.
    fn stand(self, row: usize, column: usize) {
        let boxes = self.rows.with_value(|rows| rows.get(row).map(|(_, boxes)| *boxes));
        if let Some(boxes) = boxes {
            let column = if boxes[column].is_some() { column } else { 0 };
            self.at.set((row, column));
            let cell = self.cell_name(row, column);
            request_animation_frame(move || screen::focus_field(&cell));
        }
    }

    /// Along the row to the next box that the bulb has.
    fn along(self, forward: bool) {
        let (row, column) = self.at.get_untracked();
        let boxes = self.rows.with_value(|rows| rows.get(row).map(|(_, boxes)| *boxes));
        let Some(boxes) = boxes else {
            return;
        };
        let mut has = (0..boxes.len()).filter(|at| boxes[*at].is_some());
        let next = if forward { has.find(|at| *at > column) } else { has.rfind(|at| *at < column) };
        if let Some(next) = next {
            self.stand(row, next);
        }
    }

    fn mark(self, row: usize, column: usize) -> bool {
        let found = self.rows.with_value(|rows| {
            let (bulb, boxes) = rows.get(row)?;
            Some((*bulb, boxes.get(column).copied()??))
        });
        if let Some((bulb, marked)) = found {
            self.given.update(|given| {
                given.insert(bulb, marked);
            });
        }
        found.is_some()
    }

    fn clear(self) {
        let (row, _) = self.at.get_untracked();
        if let Some(bulb) = self.rows.with_value(|rows| rows.get(row).map(|(bulb, _)| *bulb)) {
            self.given.update(|given| {
                given.remove(&bulb);
            });
        }
    }

    /// What a key means here, if anything. Only answers are heard from outside the table.
    fn heard(self, key: &str) -> bool {
        let (row, column) = self.at.get_untracked();
        if let Some(column) = say::KEYS.iter().position(|known| *known == key) {
            let marked = self.mark(row, column);
            if marked {
                let last = self.rows.with_value(|rows| row + 1 >= rows.len());
                self.stand(if last { row } else { row + 1 }, column);
            }
            return marked;
        }
        if !self.name.with_value(|name| screen::has_focus_within(name)) {
            return false;
        }
        match key {
            "ArrowDown" | "Enter" => self.stand(row + 1, column),
            "ArrowUp" if row > 0 => self.stand(row - 1, column),
            "ArrowRight" => self.along(true),
            "ArrowLeft" => self.along(false),
            "Delete" | "Backspace" => self.clear(),
            _ => return false,
        }
        true
    }
}

/// The table.
#[component]
pub(super) fn Table(sheet: Vec<Bulb>, given: RwSignal<HashMap<Id, Marked>>) -> impl IntoView {
    let rows = sheet.iter().map(|bulb| (bulb.id, walk::row(bulb))).collect();
    let grid =
        Grid { given, rows: StoredValue::new(rows), at: RwSignal::new((0, 0)), name: StoredValue::new(fresh_id()) };
    keys::on_key(move |key| grid.heard(key));
    let heads = say::TABLE.into_iter().enumerate().map(|(column, words)| {
        let key = say::KEYS.get(column).map(|key| view! { <br /> <kbd>{*key}</kbd> });
        view! { <th scope="col" class="up">{words} {key}</th> }
    });
    let rows = sheet.iter().enumerate().map(|(row, bulb)| line(grid, row, bulb)).collect::<Vec<_>>();
    view! {
        <div class="scroll">
            <table class="typed-in" id=grid.name.get_value()>
                <thead>
                    <tr>
                        <th scope="col">{say::bulb()}</th>
                        <th scope="col">{say::last_seen()}</th>
                        {heads.collect::<Vec<_>>()}
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
        <p class="small">{say::by_keys()}</p>
    }
}

fn line(grid: Grid, row: usize, bulb: &Bulb) -> impl IntoView {
    let id = bulb.id;
    let label = bulb.label().to_owned();
    let last = bulb.last_look().map(|seen| acts::look(&seen.look)).unwrap_or_default();
    let cells = walk::row(bulb).into_iter().enumerate().map(|(column, marked)| {
        let cell = marked.map(|marked| {
            let is_marked = move || grid.given.with(|given| given.get(&id) == Some(&marked));
            let tap = move |_| {
                grid.at.set((row, column));
                if is_marked() {
                    grid.clear();
                } else {
                    grid.mark(row, column);
                }
            };
            // One stop of the Tab key for the table; arrows go on from there.
            let stop = move || if grid.at.get() == (row, column) { "0" } else { "-1" };
            view! {
                <button
                    type="button"
                    id=grid.cell_name(row, column)
                    class="sheet-box"
                    tabindex=stop
                    aria-pressed=move || if is_marked() { "true" } else { "false" }
                    aria-label=say::marked_for(&label, marked)
                    on:click=tap
                ></button>
            }
        });
        view! { <td>{cell}</td> }
    });
    let cells = cells.collect::<Vec<_>>();
    let here = move || grid.at.with(|(at, _)| *at == row).then_some("true");
    view! {
        <tr aria-current=here>
            <th scope="row" class="tag">{label.clone()}</th>
            <td class="small">{last}</td>
            {cells}
        </tr>
    }
}
