//! Pots and mix as they are typed.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{ContainerBody, ContainerKind, MixPart, Recipe};
use bloomdue_core::potting::mix::{OfTheTrade, Part};
use bloomdue_core::potting::shape::Inside;
use bloomdue_core::potting::{Wish, check};
use bloomdue_core::{limits, units};

use super::{Problem, digits, filled, length_mm, refused};
use crate::potting as say;

/// What the fields hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub kind: ContainerKind,
    pub width: String,
    pub length: String,
    pub height: String,
    pub base_width: String,
    pub base_length: String,
    pub rim_gap: String,
    pub circumference: String,
    pub n_bulbs: String,
    pub above_permille: u32,
    pub n_pots: String,
    pub lines: String,
    pub settles: String,
}

/// What is asked, and what each part of the mix is called.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    pub wish: Wish,
    pub names: Vec<String>,
}

fn length(field: Field, text: &str) -> Result<Option<i64>, Problem> {
    filled(text).map(|text| length_mm(field, &text)).transpose()
}

impl Typed {
    /// Whether a container of this kind has a length beside its width.
    pub fn has_length(kind: ContainerKind) -> bool {
        matches!(kind, ContainerKind::Trough | ContainerKind::Tray)
    }

    /// The container's sizes under a name.
    ///
    /// # Errors
    /// What is not a length, beside its field.
    pub fn container(&self, name: String) -> Result<ContainerBody, Problem> {
        let long = Self::has_length(self.kind);
        let of_length = |text: &str| if long { length(Field::Width, text) } else { Ok(None) };
        let sizes = ContainerBody {
            name,
            kind: self.kind,
            inner_width_mm: length(Field::Width, &self.width)?,
            inner_height_mm: length(Field::Height, &self.height)?,
            inner_length_mm: of_length(&self.length)?,
            base_width_mm: length(Field::Width, &self.base_width)?,
            base_length_mm: of_length(&self.base_length)?,
        };
        let all = [sizes.inner_width_mm, sizes.inner_length_mm, sizes.base_width_mm, sizes.base_length_mm];
        for mm in all.into_iter().flatten() {
            limits::CONTAINER_MM.check(mm).map_err(|why| refused(Field::Width, &why))?;
        }
        sizes
            .inner_height_mm
            .map(|mm| limits::CONTAINER_MM.check(mm))
            .transpose()
            .map_err(|why| refused(Field::Height, &why))?;
        Ok(sizes)
    }

    /// What is asked; nothing while width or height is not typed.
    ///
    /// # Errors
    /// What is not typed as it must be, beside its field.
    pub fn wish(&self) -> Result<Option<Asked>, Problem> {
        let Some(inside) = Inside::of(&self.container(String::new())?) else {
            return Ok(None);
        };
        let circumference = length(Field::Circumference, &self.circumference)?;
        let checked = circumference.map(|mm| limits::CIRCUMFERENCE_MM.check(mm)).transpose();
        let circumference = checked.map_err(|why| refused(Field::Circumference, &why))?;
        let n_pots: u32 = digits(Field::Number, &self.n_pots)?;
        limits::POTS.check(i64::from(n_pots)).map_err(|why| refused(Field::Number, &why))?;
        let n_bulbs: u32 = digits(Field::Bulbs, &self.n_bulbs)?;
        limits::BULBS_AT_ONCE.check(i64::from(n_bulbs)).map_err(|why| refused(Field::Bulbs, &why))?;
        let of_mix = self.parts()?;
        let parts = of_mix.iter().map(|part| Part { parts: part.parts, bag_l: part.bag_l, g_per_l: part.g_per_l });
        let wish = Wish {
            inside,
            rim_gap_mm: length(Field::Rim, &self.rim_gap)?.unwrap_or(0) as f64,
            n_bulbs,
            circumference_mm: circumference.map(|mm| mm as f64),
            above_permille: self.above_permille,
            n_pots,
            settles_permille: self.settles_permille()?,
            parts: parts.collect(),
        };
        Ok(Some(Asked { wish, names: of_mix.into_iter().map(|part| part.what).collect() }))
    }

    fn settles_permille(&self) -> Result<Option<u32>, Problem> {
        let Some(text) = filled(&self.settles) else {
            return Ok(None);
        };
        let permille = units::tenths(&text).map_err(|why| refused(Field::Settles, &why))?;
        limits::SETTLES_PERMILLE.check(permille).map_err(|why| refused(Field::Settles, &why))?;
        Ok(u32::try_from(permille).ok())
    }

    /// The parts of the mix, a line each.
    ///
    /// # Errors
    /// The line that says no parts, by its number.
    pub fn parts(&self) -> Result<Vec<MixPart>, Problem> {
        let lines = self.lines.lines().map(str::trim).filter(|line| !line.is_empty());
        lines.map(|line| part(line).ok_or_else(|| Problem::at(Field::Parts, say::wrong_line(line)))).collect()
    }

    /// The mix under a name.
    ///
    /// # Errors
    /// What is missing or not typed as it must be.
    pub fn recipe(&self, name: &str) -> Result<Recipe, Problem> {
        let recipe = Recipe {
            name: name.trim().to_owned(),
            parts: self.parts()?,
            settles_permille: self.settles_permille()?,
            given_up: false,
        };
        check(&recipe).map_err(|why| Problem::from(&why))?;
        Ok(recipe)
    }
}

/// `2 loam, 50 L, 1200 g` as a part of a mix.
fn part(line: &str) -> Option<MixPart> {
    let mut pieces = line.split(',').map(str::trim);
    let (parts, what) = pieces.next()?.split_once(char::is_whitespace)?;
    let parts: u32 = parts.parse().ok().filter(|n| limits::MIX_PARTS.contains(i64::from(*n)))?;
    let mut part = MixPart { what: what.trim().to_owned(), parts, bag_l: None, g_per_l: None };
    for piece in pieces.filter(|piece| !piece.is_empty()) {
        let end = piece.find(|c: char| !c.is_ascii_digit())?;
        let (number, unit) = piece.split_at(end);
        let number: u32 = number.parse().ok()?;
        match unit.trim().to_lowercase().as_str() {
            "l" if limits::BAG_L.contains(i64::from(number)) => part.bag_l = Some(number),
            "g" if limits::LITRE_G.contains(i64::from(number)) => part.g_per_l = Some(number),
            _ => return None,
        }
    }
    (!part.what.is_empty()).then_some(part)
}

/// A recipe as lines that can be typed on.
pub fn lines_of(recipe: &Recipe) -> String {
    let line = |part: &MixPart| {
        let bag = part.bag_l.map(|n| format!(", {n} L")).unwrap_or_default();
        let weight = part.g_per_l.map(|n| format!(", {n} g")).unwrap_or_default();
        format!("{} {}{bag}{weight}", part.parts, part.what)
    };
    recipe.parts.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// A published mix as lines that can be typed on.
pub fn lines_of_trade(mix: &OfTheTrade) -> String {
    let line = |(thing, n): &(_, u32)| format!("{n} {}", say::thing(*thing));
    mix.parts.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use bloomdue_core::potting::mix::TRADE;

    fn typed() -> Typed {
        Typed {
            kind: ContainerKind::Pot,
            width: "15".to_owned(),
            length: String::new(),
            height: "14".to_owned(),
            base_width: String::new(),
            base_length: String::new(),
            rim_gap: "2".to_owned(),
            circumference: "28".to_owned(),
            n_bulbs: "1".to_owned(),
            above_permille: 333,
            n_pots: "24".to_owned(),
            lines: lines_of_trade(&TRADE[1]),
            settles: String::new(),
        }
    }

    #[test]
    fn what_is_typed_is_read_in_millimetres_and_parts() {
        let Asked { wish, names } = typed().wish().unwrap().unwrap();
        assert_eq!(names, ["loam", "perlite", "compost"]);
        assert_eq!(wish.inside, Inside::Round { rim_mm: 150.0, base_mm: 150.0, height_mm: 140.0 });
        assert_eq!((wish.rim_gap_mm, wish.circumference_mm, wish.n_pots), (20.0, Some(280.0), 24));
        assert_eq!(wish.parts.iter().map(|part| part.parts).collect::<Vec<_>>(), [2, 1, 1]);
        assert_eq!(Typed { height: String::new(), ..typed() }.wish(), Ok(None));
        let settles = Typed { settles: "12.5".to_owned(), ..typed() }.wish().unwrap().unwrap().wish.settles_permille;
        assert_eq!(settles, Some(125));
    }

    #[test]
    fn a_line_names_parts_bags_and_weight_or_is_refused() {
        let lines = "2 coarse sand, 25 L, 1600 g\n\n 1 peat , 70 l";
        let parts = Typed { lines: lines.to_owned(), ..typed() }.parts().unwrap();
        let sand = MixPart { what: "coarse sand".to_owned(), parts: 2, bag_l: Some(25), g_per_l: Some(1600) };
        let peat = MixPart { what: "peat".to_owned(), parts: 1, bag_l: Some(70), g_per_l: None };
        assert_eq!(parts, [sand, peat]);
        let recipe = Typed { lines: lines.to_owned(), ..typed() }.recipe("House mix").unwrap();
        assert_eq!(lines_of(&recipe), "2 coarse sand, 25 L, 1600 g\n1 peat, 70 L");
        for wrong in ["sand", "x sand", "0 sand", "2 sand, much", "2 sand, 9000 L", "2 sand, 50", "2"] {
            let refused = Typed { lines: wrong.to_owned(), ..typed() }.parts().unwrap_err();
            assert_eq!(refused.field, Some(Field::Parts), "{wrong}");
        }
        assert!(typed().recipe(" ").is_err());
    }

    #[test]
    fn a_size_that_no_pot_has_is_refused_beside_its_field() {
        let wide = Typed { width: "900".to_owned(), ..typed() }.wish().unwrap_err();
        assert_eq!(wide.field, Some(Field::Width));
        let pots = Typed { n_pots: "0".to_owned(), ..typed() }.wish().unwrap_err();
        assert_eq!(pots.field, Some(Field::Number));
    }
}
