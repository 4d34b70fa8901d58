//! What of a bulb is kept between starts.

use super::bulb::{Bulb, Cycle, End, Fate, JobNote, Mark, PhotoOf, Seen, Shoot};
use super::same::Also;
use crate::{
    ledger::{
        Field,
        body::{
            ActKind, Finding, Leaves, LeftHow, Look, Neck, Photo, ShootKind, ShootSeen, Side,
            Stage, Way,
        },
        entry::HybridTime,
    },
    pack::{Pack, Reader, Writer, fields, members, words},
};

words!(
    ActKind, Finding, Leaves, LeftHow, Neck, ShootKind, Side, Stage, Way
);

fields! {
    HybridTime { ms, counter }
    ShootSeen { id, ordinal, side, kind, stage, height_mm }
    Look { neck, leaves, n_leaves, shoots, way, walk }
    Seen { entry, at, look, sweep }
    Shoot { id, ordinal, side, kind, contradicted, since, stage, height_mm, call }
    Cycle { began, ended, looks, shoots, acts, inspected, fit, left_at }
    End { entry, cycle, fate, stage, fit }
    Photo { hash, thumb, media, n_bytes, width_px, height_px, drawn }
    PhotoOf { entry, at, photo }
    JobNote { on, kind, job, until }
    Also { id, tag, own_name }
    Bulb {
        id, also, lot, tag, own_name, added, place, container, places, pots, circumference_mm, cycles, fate, ends, put_aside, watch, mother,
        n_leaves, photos, last_acts, jobs, inspected, sprouted,
    }
    Mark { last, proofs, calls, linked }
}

members! {
    Fate {
        0 Here,
        1 Left { on, how },
        2 Died { on, cause },
        3 Missing { on },
    }
}

impl<T: Pack> Pack for Field<T> {
    fn put(&self, to: &mut Writer) {
        match self {
            Self::Unsaid => to.byte(0),
            Self::Settled(value) => {
                to.byte(1);
                value.put(to);
            }
            Self::Disagreed(values) => {
                to.byte(2);
                values.put(to);
            }
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        match from.byte()? {
            0 => Some(Self::Unsaid),
            1 => T::take(from).map(Self::Settled),
            2 => Vec::take(from).map(Self::Disagreed),
            _ => None,
        }
    }
}
