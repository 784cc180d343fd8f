use std::fmt;
use std::sync::Arc;

/// One step from a YAML node to one inside it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Segment {
    /// The value under a key; the number tells repeated keys apart (0 is the first).
    Key(Arc<str>, u32),
    /// An item of a list.
    Index(usize),
}

/// Where in a YAML file something stands: keys and indices from the top.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Route(pub Arc<[Segment]>);

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, segment) in self.0.iter().enumerate() {
            match segment {
                Segment::Key(key, _) if i == 0 => f.write_str(key)?,
                Segment::Key(key, _) => write!(f, ".{key}")?,
                Segment::Index(index) => write!(f, "[{}]", index + 1)?,
            }
        }
        Ok(())
    }
}
