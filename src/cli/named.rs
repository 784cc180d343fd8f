//! Parts as a person names them: by id, or by the name that the manifest gives them.

use super::Stop;
use crate::model::Build;
use crate::yaml::nearest;

/// Index of the part of this id or name; letters may be large or small.
///
/// # Errors
/// Where there is none, or several bear the name: says what is near.
pub(super) fn part(build: &Build, text: &str) -> Result<usize, Stop> {
    if let Some(i) = build.part(text) {
        return Ok(i);
    }
    let same = |name: &str| name.trim().to_lowercase() == text.trim().to_lowercase();
    let bears = |i: &usize| same(build.parts[*i].id()) || same(&build.parts[*i].given.name);
    let found: Vec<usize> = (0..build.parts.len()).filter(bears).collect();
    match found[..] {
        [one] => return Ok(one),
        [] => {}
        _ => {
            let ids: Vec<String> =
                found.iter().map(|i| format!("`{}`", build.parts[*i].id())).collect();
            let says = format!("`{text}` names several parts: {}; give the id", ids.join(", "));
            return Err(Stop::Usage(says));
        }
    }
    // Of an id and a name that are as near, the id is proposed: it stands last.
    let names = build.parts.iter().flat_map(|p| [&*p.given.name, &**p.id()]);
    Err(Stop::Usage(match nearest(text, names) {
        Some(near) => format!("no part is called `{text}`; did you mean `{near}`?"),
        None => format!("no part is called `{text}`; `pourwright parts` lists them"),
    }))
}

/// The same for a part that is cast; `else_says` tells what a part that is not lacks.
///
/// # Errors
/// As for any part, and where it is not cast.
pub(super) fn casting(build: &Build, text: &str, else_says: &str) -> Result<usize, Stop> {
    let i = part(build, text)?;
    match build.parts[i].casting {
        Some(_) => Ok(i),
        None => Err(Stop::Usage(format!("`{text}` is not cast; {else_says}"))),
    }
}

/// The id of the part that bears this name; any other text as it is.
pub(super) fn id(build: &Build, text: &str) -> String {
    match part(build, text) {
        Ok(i) => build.parts[i].id().to_string(),
        Err(_) => text.to_owned(),
    }
}
