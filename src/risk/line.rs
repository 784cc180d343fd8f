//! What waits for a furnace, in a replay: the most urgent is asked first, and what does not fit into a
//! session is asked again in a later one.

use crate::plan::Minute;

/// A line of what waits, the most urgent first.
#[derive(Debug, Clone)]
pub(super) struct Line<K> {
    /// Each with the minute before which it need not be asked.
    waiting: Vec<(K, Minute)>,
    /// When the line is to be asked again.
    pub wakes: Minute,
}

impl<K> Default for Line<K> {
    fn default() -> Self {
        Self { waiting: Vec::new(), wakes: Minute::MIN }
    }
}

impl<K: Ord + Copy> Line<K> {
    /// Takes its place in the line, unless it has one.
    pub fn join(&mut self, key: K) {
        if let Err(at) = self.waiting.binary_search_by(|(other, _)| other.cmp(&key)) {
            self.waiting.insert(at, (key, Minute::MIN));
        }
    }

    /// Its place, if it can be asked now.
    pub fn place(&self, key: K, now: Minute) -> Option<usize> {
        let at = self.waiting.binary_search_by(|(other, _)| other.cmp(&key)).ok()?;
        (self.waiting[at].1 <= now).then_some(at)
    }

    /// Who has a place.
    pub fn at(&self, place: usize) -> K {
        self.waiting[place].0
    }

    /// Whoever has a place is done, and leaves the line.
    pub fn leave(&mut self, place: usize) {
        self.waiting.remove(place);
    }

    /// Whoever has a place is not asked again before `to`; the place of the next that can be asked now.
    pub fn put_off(&mut self, place: usize, to: Minute, now: Minute) -> Option<usize> {
        self.waiting[place].1 = to;
        let after = self.waiting[place + 1..].iter().position(|(_, from)| *from <= now)?;
        Some(place + 1 + after)
    }

    /// The most urgent that can be asked now.
    pub fn first(&self, now: Minute) -> Option<K> {
        self.waiting.iter().find(|(_, from)| *from <= now).map(|(key, _)| *key)
    }

    /// When the next of those that were put off can be asked again.
    pub fn next(&self) -> Option<Minute> {
        self.waiting.iter().map(|(_, from)| *from).min()
    }

    /// Whether nothing waits.
    pub fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::Line;

    #[test]
    fn the_most_urgent_is_asked_first_and_what_is_put_off_later() {
        let mut line = Line::default();
        [3, 1, 2, 3].into_iter().for_each(|key| line.join(key));
        assert_eq!((line.first(0), line.place(1, 0)), (Some(1), Some(0)));
        assert_eq!((line.put_off(0, 60, 0), line.put_off(1, 30, 0)), (Some(1), Some(2)));
        assert_eq!((line.first(29), line.first(30), line.first(60)), (Some(3), Some(2), Some(1)));
        assert_eq!((line.place(2, 30), line.place(1, 30), line.at(1)), (Some(1), None, 2));
        line.leave(2);
        assert_eq!((line.first(0), line.next(), line.place(3, 90)), (None, Some(30), None));
        assert_eq!(line.put_off(1, 90, 60), None);
        assert!(!line.is_empty());
    }
}
