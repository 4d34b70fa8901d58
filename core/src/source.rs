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

impl Source {
    /// The words that stand beside the number.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Trial => "trial",
            Self::ExtensionService => "extension service",
            Self::TradePage => "trade page",
            Self::SingleReport => "single report",
            Self::CommonPractice => "common practice, no source",
        }
    }
}
