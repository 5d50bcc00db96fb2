//! The texts that were read, by number.

use crate::model::figure::Place;

/// Files with their text.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<(String, String)>,
}

impl Sources {
    /// Adds a file; gives its number.
    pub fn add(&mut self, name: &str, text: String) -> u32 {
        self.files.push((name.to_owned(), text));
        u32::try_from(self.files.len() - 1).unwrap_or(u32::MAX)
    }

    /// The name of a file.
    pub fn name(&self, file: u32) -> &str {
        self.files.get(file as usize).map_or("", |f| &f.0)
    }

    /// The text of a file.
    pub fn text(&self, file: u32) -> Option<&str> {
        self.files.get(file as usize).map(|f| f.1.as_str())
    }

    /// Every file with its number.
    pub fn iter(&self) -> impl Iterator<Item = (u32, &str, &str)> {
        self.files.iter().enumerate().map(|(i, (name, text))| (i as u32, name.as_str(), text.as_str()))
    }

    /// The words of a place.
    pub fn words(&self, place: Place) -> &str {
        let text = self.text(place.file).unwrap_or_default();
        text.get(place.start as usize..place.end as usize).unwrap_or_default()
    }

    /// Line and column of a place's start, both counted from 1, columns in characters.
    pub fn line_column(&self, place: Place) -> (usize, usize) {
        let text = self.text(place.file).unwrap_or_default();
        let before = text.get(..place.start as usize).unwrap_or_default();
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        (line, column)
    }
}
