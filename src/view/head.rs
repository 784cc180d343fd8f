use super::text::Look;
use crate::model::Build;
use serde::Serialize;

/// What every view says first: which build, looked at on which day.
#[derive(Debug, Clone, Serialize)]
pub struct Head {
    /// Title of the build.
    pub title: String,
    /// The day it is looked at.
    pub today: String,
    /// Whether that day is pinned in the manifest.
    pub pinned: bool,
    /// Things worth pointing out about the journal.
    pub remarks: Vec<String>,
}

impl Head {
    /// Of a build.
    pub fn new(build: &Build) -> Self {
        Self {
            title: build.header.title.to_string(),
            today: build.today.to_string(),
            pinned: build.header.looked_at == Some(build.today),
            remarks: build.history.remarks.iter().map(ToString::to_string).collect(),
        }
    }

    /// In a line or two.
    pub fn text(&self, look: &Look) -> String {
        let pinned = if self.pinned { ", the day this example is pinned to" } else { "" };
        let mut out = format!("{}\nas of {}{pinned}\n", self.title, self.today);
        for remark in &self.remarks {
            out += &(look.wrapped(&format!("note: {remark}"), 6) + "\n");
        }
        out
    }
}
