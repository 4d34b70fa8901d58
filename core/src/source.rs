//! Where a number of advice comes from. Every such number carries one of these, and nothing below an extension
//! service stands alone as advice.

use strum::{IntoStaticStr, VariantArray};

use crate::words::words;

words!(Source);

/// What a statement rests on, strongest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, IntoStaticStr, VariantArray)]
pub enum Source {
    /// A published trial.
    #[strum(serialize = "trial")]
    Trial,
    /// An extension service.
    #[strum(serialize = "extension service")]
    ExtensionService,
    /// A page of the trade.
    #[strum(serialize = "trade page")]
    TradePage,
    /// One grower's report.
    #[strum(serialize = "single report")]
    SingleReport,
    /// Common practice; no source was found.
    #[strum(serialize = "common practice")]
    CommonPractice,
}
