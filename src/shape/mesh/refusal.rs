use std::borrow::Cow;
use std::fmt;

/// Why a file is not read as a mesh.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Refusal {
    /// Its name ends in none of the known ways.
    Ending,
    /// The disc would not give it.
    Unreadable(String),
    /// No bytes at all.
    Empty,
    /// Some other kind of file.
    NotAMesh(&'static str),
    /// A binary STL that ends within its header.
    HeaderCut {
        /// Bytes in the file.
        bytes: usize,
    },
    /// A binary STL with fewer whole triangles than it says.
    Cut {
        /// Triangles that the header promises.
        says: u32,
        /// Whole triangles in the file.
        holds: usize,
    },
    /// A binary STL with bytes after the triangles that it says.
    Surplus {
        /// Triangles that the header promises.
        says: u32,
        /// Bytes left over.
        bytes: usize,
    },
    /// A sound file with nothing in it.
    NoTriangles,
    /// A text file with another word than its format wants.
    Word {
        /// Line, from 1.
        line: usize,
        /// What should stand there.
        wanted: &'static str,
        /// What stands there.
        found: String,
    },
    /// A number written with a decimal comma.
    DecimalComma {
        /// Line, from 1.
        line: usize,
    },
    /// A face of an STL with more corners than three.
    FourCorners {
        /// Line, from 1.
        line: usize,
    },
    /// A text file that stops before its end.
    NoEnd {
        /// Last line, from 1.
        line: usize,
    },
    /// An OBJ file that does not keep to its format.
    Obj(&'static str),
    /// A 3MF archive that will not open, or lacks a part.
    Archive(String),
    /// A 3MF model that does not keep to its format.
    Model(Cow<'static, str>),
    /// A face that names a corner that is not there.
    NoSuchCorner {
        /// Which face of its object, from 1.
        face: usize,
    },
    /// A face whose outline crosses itself.
    Bow {
        /// Which face, from 1.
        face: usize,
        /// Which two of its sides, from 1.
        sides: (usize, usize),
    },
    /// More triangles than the tool takes.
    TooBig,
    /// A 3MF that unpacks to more than the tool takes (CWE-409).
    Unpacks,
    /// A face with more corners than any drawing has.
    TooManyCorners {
        /// Line, from 1.
        line: usize,
    },
}

impl Refusal {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Ending => "give a file that ends in .stl, .obj or .3mf",
            Self::Unreadable(_) => "look at the path and who may read it",
            Self::Empty | Self::HeaderCut { .. } | Self::Cut { .. } | Self::NoEnd { .. } => {
                "the file was cut off; write it out again from the drawing"
            }
            Self::NotAMesh(_) | Self::Surplus { .. } | Self::Word { .. } => {
                "write the file out again from the drawing"
            }
            Self::NoTriangles => "write out a solid body; sketches and points make no triangles",
            Self::DecimalComma { .. } => "write the file out with decimal points",
            Self::FourCorners { .. } => "write the file out in triangles",
            Self::Obj(_) | Self::Archive(_) | Self::Model(_) | Self::NoSuchCorner { .. } => {
                "write the file out again, or write an STL"
            }
            Self::Bow { .. } => {
                "put its corners in order around it, or write the file out in triangles"
            }
            Self::TooBig | Self::Unpacks => "write the file out coarser",
            Self::TooManyCorners { .. } => "write the file out in triangles",
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ending => f.write_str("the name does not tell what kind of mesh this is"),
            Self::Unreadable(why) => write!(f, "the file cannot be read: {why}"),
            Self::Empty => f.write_str("the file is empty"),
            Self::NotAMesh(what) => write!(f, "this is {what}, not a mesh"),
            Self::HeaderCut { bytes } => {
                write!(f, "the file ends after {bytes} bytes; the header of an STL alone takes 84")
            }
            Self::Cut { says, holds } => {
                write!(f, "the header says {says} triangles, but only {holds} are in the file")
            }
            Self::Surplus { says, bytes } => {
                write!(f, "{bytes} bytes follow the {says} triangles that the header says")
            }
            Self::NoTriangles => f.write_str("the file holds no triangle"),
            Self::Word { line, wanted, found } => {
                write!(f, "line {line}: {wanted} is expected, not {found:?}")
            }
            Self::DecimalComma { line } => write!(f, "line {line}: a number has a decimal comma"),
            Self::FourCorners { line } => {
                write!(f, "line {line}: a face has more than three corners")
            }
            Self::NoEnd { line } => {
                write!(f, "the text stops after line {line} without closing its solid")
            }
            Self::Obj(what) => write!(f, "the OBJ is not sound: {what}"),
            Self::Archive(why) => write!(f, "the 3MF archive is not sound: {why}"),
            Self::Model(why) => write!(f, "the 3MF model is not sound: {why}"),
            Self::NoSuchCorner { face } => {
                write!(f, "face {face} names a corner that is not there")
            }
            Self::Bow { face, sides: (one, other) } => {
                write!(f, "face {face} crosses itself: its sides {one} and {other} meet")
            }
            Self::TooBig => write!(f, "the mesh has more than {} triangles", super::MOST_TRIANGLES),
            Self::Unpacks => write!(
                f,
                "the 3MF archive unpacks to more than {} MB",
                super::threemf::MOST_UNPACKED >> 20
            ),
            Self::TooManyCorners { line } => {
                write!(f, "line {line}: a face has more than {} corners", super::obj::MOST_CORNERS)
            }
        }
    }
}

impl std::error::Error for Refusal {}
