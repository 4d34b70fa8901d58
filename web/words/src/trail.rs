//! Where one has been, so that the way back leads to the same screen as it was left.

use crate::route::Route;

/// The screens of one tab in the order of the browser's history, which counts them by the same numbers. `S` is how a screen
/// was left: how far it was scrolled, what was unfolded.
#[derive(Debug)]
pub struct Trail<S> {
    /// By number; `None` for what was visited before the app was loaded.
    visits: Vec<Option<Visit<S>>>,
    now: usize,
}

#[derive(Debug)]
struct Visit<S> {
    route: Route,
    left: Option<S>,
}

impl<S> Trail<S> {
    /// A trail whose present screen has the number that the browser's history knows it by.
    pub fn new(now: usize, route: Route) -> Self {
        let mut visits: Vec<_> = (0..now).map(|_| None).collect();
        visits.push(Some(Visit { route, left: None }));
        Self { visits, now }
    }

    /// Keeps how the present screen is left.
    pub fn leave(&mut self, left: S) {
        if let Some(Some(visit)) = self.visits.get_mut(self.now) {
            visit.left = Some(left);
        }
    }

    /// Comes to a screen: with the number that the history has for it, or as a further one. Gives its number and how it was
    /// left, where it is the same screen again.
    pub fn come(&mut self, known: Option<usize>, route: Route) -> (usize, Option<&S>) {
        let new = known.is_none();
        self.now = known.unwrap_or(self.now + 1);
        if new {
            self.visits.truncate(self.now);
        }
        while self.visits.len() <= self.now {
            self.visits.push(None);
        }
        let visit = &mut self.visits[self.now];
        if visit.as_ref().is_none_or(|visit| visit.route != route) {
            *visit = Some(Visit { route, left: None });
        }
        (self.now, visit.as_ref().and_then(|visit| visit.left.as_ref()))
    }

    /// The screen before this one; the same screen over again does not count.
    pub fn before(&self) -> Option<&Route> {
        let now = self.visits.get(self.now)?.as_ref()?;
        let earlier = self.visits[..self.now].iter().rev();
        earlier.map_while(Option::as_ref).map(|visit| &visit.route).find(|route| **route != now.route)
    }

    /// How many steps back in the history a screen lies, where one has come from it.
    pub fn steps_back_to(&self, route: &Route) -> Option<usize> {
        let earlier = self.visits[..self.now].iter().rev();
        let place = earlier.map_while(Option::as_ref).position(|visit| visit.route == *route)?;
        Some(place + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn walked(routes: &[Route]) -> Trail<u32> {
        let mut trail = Trail::new(0, routes[0].clone());
        for (n, route) in routes.iter().enumerate().skip(1) {
            trail.leave(n as u32 * 10);
            assert_eq!(trail.come(None, route.clone()), (n, None));
        }
        trail
    }

    #[test]
    fn one_step_back_finds_the_screen_as_it_was_left() {
        let mut trail = walked(&[Route::Due, Route::Places, Route::Find]);
        assert_eq!(trail.before(), Some(&Route::Places));
        trail.leave(7);
        assert_eq!(trail.come(Some(1), Route::Places), (1, Some(&20)));
        assert_eq!(trail.come(Some(2), Route::Find), (2, Some(&7)), "and forward again");
    }

    #[test]
    fn a_further_screen_forgets_what_lay_ahead() {
        let mut trail = walked(&[Route::Due, Route::Places, Route::Find]);
        trail.come(Some(0), Route::Due);
        assert_eq!(trail.come(None, Route::Files), (1, None));
        assert_eq!(trail.come(Some(2), Route::Find), (2, None));
    }

    #[test]
    fn a_screen_that_took_anothers_place_is_not_taken_for_it() {
        let mut trail = walked(&[Route::Due, Route::NewPlace]);
        trail.leave(3);
        assert_eq!(trail.come(Some(1), Route::Places), (1, None));
        assert_eq!(trail.before(), Some(&Route::Due));
    }

    #[test]
    fn the_same_screen_twice_is_no_way_back() {
        let trail = walked(&[Route::Due, Route::Places, Route::Places]);
        assert_eq!(trail.before(), Some(&Route::Due));
        assert_eq!(trail.steps_back_to(&Route::Due), Some(2));
    }

    #[test]
    fn what_was_before_the_app_was_loaded_is_not_known() {
        let mut trail: Trail<u32> = Trail::new(4, Route::Find);
        assert_eq!(trail.before(), None);
        assert_eq!(trail.steps_back_to(&Route::Due), None);
        assert_eq!(trail.come(Some(3), Route::Due), (3, None), "the browser went back over the reload");
        assert_eq!(trail.before(), None);
        assert_eq!(trail.come(Some(9), Route::Files), (9, None), "a number that was never given fills the gap");
        assert_eq!(trail.before(), None);
    }
}
