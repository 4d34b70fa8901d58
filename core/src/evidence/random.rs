//! Numbers for Monte Carlo, the same for one seed on every device. Lots are never drawn with them; see
//! [`crate::trial::lots`] for those.

pub(crate) use bloomdue_draws::random::Random;
