//! Photos and small pictures, kept as bytes under their hash.

use bloomdue_core::{
    handover::PhotosHere,
    ledger::{
        id::AttachmentHash,
        shelf::{Store as Shelf, session::Read},
    },
};
use js_sys::{Array, Uint8Array};
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Blob, BlobPropertyBag, Url};

use super::{Store, StoreError, error};

impl Store {
    /// An address under which the page can show a photo. The caller revokes it when the picture goes.
    pub(crate) async fn attachment_blob_url(
        &self,
        hash: AttachmentHash,
        media: &str,
    ) -> Result<Option<String>, StoreError> {
        self.blob_url(Shelf::Attachments, hash, media).await
    }

    /// An address under which the page can show a small picture. The caller revokes it when the picture goes.
    pub(crate) async fn thumb_blob_url(&self, hash: AttachmentHash, media: &str) -> Result<Option<String>, StoreError> {
        self.blob_url(Shelf::Thumbs, hash, media).await
    }

    /// The bytes go from storage to the picture without passing through the program's memory.
    async fn blob_url(&self, store: Shelf, hash: AttachmentHash, media: &str) -> Result<Option<String>, StoreError> {
        let found = self.raw_row(store, &hash.to_string()).await?;
        if !found.is_instance_of::<Uint8Array>() {
            return Ok(None);
        }
        let blob = blob_of(&Array::of1(&found), media)?;
        Url::create_object_url_with_blob(&blob).map(Some).map_err(|why| error::of(&why))
    }

    /// Hashes of all photos and files kept here.
    pub(crate) async fn attachment_hashes(&self) -> Result<Vec<AttachmentHash>, StoreError> {
        self.hashes(Shelf::Attachments).await
    }

    /// Hashes of all small pictures kept here.
    pub(crate) async fn thumb_hashes(&self) -> Result<Vec<AttachmentHash>, StoreError> {
        self.hashes(Shelf::Thumbs).await
    }

    pub(super) async fn hashes(&self, store: Shelf) -> Result<Vec<AttachmentHash>, StoreError> {
        let keys = self.read(&[Read::Keys(store)]).await?.keys();
        Ok(keys.iter().filter_map(|key| AttachmentHash::parse(key).ok()).collect())
    }

    /// Which photos are kept here, for a preview.
    pub(crate) async fn photos_here(&self) -> Result<PhotosHere, StoreError> {
        Ok(PhotosHere {
            photos: self.attachment_hashes().await?.into_iter().collect(),
            thumbs: self.thumb_hashes().await?.into_iter().collect(),
        })
    }
}

/// A blob of these parts.
pub(super) fn blob_of(parts: &Array, media: &str) -> Result<Blob, StoreError> {
    let options = BlobPropertyBag::new();
    options.set_type(media);
    Blob::new_with_u8_array_sequence_and_options(&JsValue::from(parts), &options).map_err(|why| error::of(&why))
}
