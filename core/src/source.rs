//! Where a number of advice comes from. Every such number carries one of these, and nothing below an extension
//! service stands alone as advice.

use serde::{Deserialize, Serialize};

/// What a statement rests on, strongest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Source {
    /// A published trial.
    #[serde(rename = "trial")]
    Trial,
    /// An extension service.
    #[serde(rename = "extension service")]
    ExtensionService,
    /// A page of the trade.
    #[serde(rename = "trade page")]
    TradePage,
    /// One grower's report.
    #[serde(rename = "single report")]
    SingleReport,
    /// Common practice; no source was found.
    #[serde(rename = "common practice")]
    CommonPractice,
}
