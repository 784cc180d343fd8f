//! Why the plan is as it is: what each job waited for, what sets the finish, and slack.

mod relief;
mod slack;
mod waited;

pub(super) use slack::slack;
pub use waited::Waited;
pub(super) use waited::reasons;
