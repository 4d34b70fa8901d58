//! Where a number of advice comes from. Every such number carries one of these, and nothing below an extension
//! service stands alone as advice.

use crate::words;

words! {
    /// What a statement rests on, strongest first.
    Source {
        /// A published trial.
        Trial = "trial",
        /// An extension service.
        ExtensionService = "extension service",
        /// A page of the trade.
        TradePage = "trade page",
        /// One grower's report.
        SingleReport = "single report",
        /// Common practice; no source was found.
        CommonPractice = "common practice",
    }
}
