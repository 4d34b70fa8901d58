//! Where a number of advice comes from. Every such number carries one of these, and nothing below an extension
//! service stands alone as advice.

/// What a statement rests on, strongest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A published trial.
    Trial,
    /// An extension service.
    ExtensionService,
    /// A page of the trade.
    TradePage,
    /// One grower's report.
    SingleReport,
    /// Common practice; no source was found.
    CommonPractice,
}
