//! Looks and photos in a kept state. In records they leave out what is not said, which only text can: in bytes every
//! field has its place. To be named in `#[serde(with = "…")]`.

use serde::{Deserialize, Serialize};

use crate::ledger::{body::Photo, id::AttachmentHash};

/// A photo.
#[derive(Serialize, Deserialize)]
#[serde(remote = "Photo")]
pub(super) struct PhotoInFull {
    hash: AttachmentHash,
    thumb: Option<AttachmentHash>,
    media: String,
    n_bytes: u64,
    width_px: u32,
    height_px: u32,
    drawn: bool,
}

/// A look.
pub(super) mod look {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use crate::ledger::{
        body::{Leaves, Look, Neck, ShootKind, ShootSeen, Side, Stage, Way},
        id::Id,
    };

    type Shoot = (Id, u32, Side, ShootKind, Stage, Option<u32>);
    type Fields = (Neck, Leaves, Option<u32>, Vec<Shoot>, Way, Option<Id>);

    pub(in super::super) fn serialize<S: Serializer>(look: &Look, to: S) -> Result<S::Ok, S::Error> {
        let Look { neck, leaves, n_leaves, shoots, way, walk } = look;
        let fields = |shoot: &ShootSeen| {
            let ShootSeen { id, ordinal, side, kind, stage, height_mm } = *shoot;
            (id, ordinal, side, kind, stage, height_mm)
        };
        let shoots: Vec<Shoot> = shoots.iter().map(fields).collect();
        (neck, leaves, n_leaves, shoots, way, walk).serialize(to)
    }

    pub(in super::super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Look, D::Error> {
        let (neck, leaves, n_leaves, shoots, way, walk) = Fields::deserialize(from)?;
        let of = |(id, ordinal, side, kind, stage, height_mm)| ShootSeen { id, ordinal, side, kind, stage, height_mm };
        let shoots = shoots.into_iter().map(of).collect();
        Ok(Look { neck, leaves, n_leaves, shoots, way, walk })
    }
}
