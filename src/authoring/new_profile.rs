//! A swimmer's profile with comments, from what is known: what is assumed for the rest stands beside it, to be written over.
//! No file is written here.

use crate::diag::{Diagnostic, Sources};
use crate::pack::begin::Unfit;
use crate::script::movement::DrillMovement;
use crate::script::{BodyPart, Effort, PaceBase};
use crate::swimmer::{How, SpeedTarget, SwimStretch, Swimmer, profile};
use crate::units::swim::{Pace, PoolLength};
use crate::units::time::Seconds;
use serde_json::Value;

/// What somebody knows of how they swim.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileFacts {
    /// What they are called.
    pub name: Option<String>,
    /// Where they swim.
    pub pool: PoolLength,
    /// How long 100 of its unit takes them.
    pub hundred: Option<Pace>,
    /// How many strokes a length takes them, as written: the profile's reader judges it.
    pub count: Option<String>,
    /// How long that length took, as written.
    pub time: Option<String>,
}

/// A profile as text.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileDraft {
    /// The profile.
    pub text: String,
    /// Whom it describes.
    pub swimmer: Swimmer,
}

/// Writes a profile.
///
/// # Errors
/// Where what is known cannot stand in one, or describes nobody.
pub fn begin(facts: &ProfileFacts) -> Result<ProfileDraft, Unfit> {
    // Read once for what follows from the facts, and again as it is going to be written.
    let swimmer = read(&known(facts))?;
    let text = format!("{}{}", known(facts), assumed(&swimmer, facts));
    Ok(ProfileDraft { swimmer: read(&text)?, text })
}

fn read(text: &str) -> Result<Swimmer, Unfit> {
    let mut sources = Sources::new();
    let source = sources.add("profile", text);
    let (swimmer, problems) = profile::parse(source, &sources);
    let problem = problems.into_iter().next();
    let none = || Diagnostic::whole(crate::diag::Code::Empty, "the profile describes nobody");
    swimmer.ok_or_else(|| Unfit::of(problem.unwrap_or_else(none)))
}

/// The keys of what is known.
fn known(facts: &ProfileFacts) -> String {
    let ProfileFacts { name, pool, hundred, count, time } = facts;
    let unit = pool.unit().sign();
    let mut text = String::from(
        "# What is known of a swimmer, for `--swimmer`. Change it as you learn more.\nlengthwise-profile: 1\n",
    );
    if let Some(name) = name {
        text += &format!("name: {}\n", Value::from(name.as_str()));
    }
    text += &format!("pool: {pool}                     # where the rest was swum; paces are for 100 {unit}\n");
    match hundred {
        Some(hundred) => {
            let time = hundred.per_hundred();
            text +=
                &format!("hundred: {time}                  # 100 {unit} swum steadily, one of several, not a race\n");
        }
        None => text += "# hundred: 1:50                # 100 swum steadily, one of several, not a race\n",
    }
    let counted = "# strokes in one length: each hand that goes in";
    match (count, time) {
        (Some(count), Some(time)) => {
            text += &format!("stroke:                        {counted}\n  - {{ count: {count}, time: {time} }}\n")
        }
        (Some(count), None) => text += &format!("stroke:                        {counted}\n  - {{ count: {count} }}\n"),
        (None, _) => {}
    }
    text
}

/// What is assumed, as comments: the sign goes away where something is known.
fn assumed(swimmer: &Swimmer, facts: &ProfileFacts) -> String {
    let stretch = SwimStretch::Length(facts.pool);
    let pace = |effort| swimmer.pace_of(PaceBase::Effort(effort), stretch);
    let of = |how: How| {
        let time = swimmer.predict(stretch, &how).time.as_f64() * 100.0 / f64::from(facts.pool.distance().count());
        Seconds::from_estimate(libm::round(time))
    };
    let easy = How::crawl(SpeedTarget::Effort(Effort::Easy));
    let (drill, kick) =
        (How { drill: Some(DrillMovement::of(BodyPart::Swim)), ..easy }, How { part: BodyPart::Kick, ..easy });
    let count = swimmer.predict(stretch, &How::crawl(SpeedTarget::Tempo(swimmer.usual))).count.unwrap_or_default();
    let mut text =
        String::from("\n# Assumed from that. Where you know better, take away the sign and write your own.\n");
    if facts.count.is_none() {
        text += &format!(
            "# stroke: [{{ count: {count:.0} }}]      # strokes in one length; with its time: {{ count: {count:.0}, time: 27.5 s }}\n"
        );
    }
    text += &format!(
        "# usual: {:.2} s                # the tempo by feel, once a beat has told you\n",
        swimmer.usual.as_f64()
    );
    text += &format!(
        "# pace: {{ easy: {}, brisk: {}, fast: {} }}\n",
        pace(Effort::Easy),
        pace(Effort::Brisk),
        pace(Effort::Fast)
    );
    text += &format!(
        "# critical: {}               # what you could hold for about half an hour\n",
        swimmer.pace_of(PaceBase::Critical, stretch)
    );
    text += &format!("# drill: {}\n# kick: {}\n", of(drill), of(kick));
    text += "# wall: 4 s                    # of each length without strokes: push-off, glide, turn\n";
    text += "# glide: 5 m                   # swum without strokes\n";
    text += "# side: right                  # of the first breath\n";
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::swim::{Distance, PoolUnit};

    fn facts(hundred: Option<i64>, count: Option<&str>, time: Option<&str>) -> ProfileFacts {
        ProfileFacts {
            name: Some("Ida: \"the\" quick".into()),
            pool: PoolLength::new(Distance::new(25, PoolUnit::Metre).unwrap()).unwrap(),
            hundred: hundred.map(|secs| Pace::new(Seconds::from_secs(secs)).unwrap()),
            count: count.map(Into::into),
            time: time.map(Into::into),
        }
    }

    #[test]
    fn what_is_written_is_what_is_known() {
        let draft = begin(&facts(Some(100), None, None)).unwrap();
        assert_eq!(draft.swimmer.name.as_deref(), Some("Ida: \"the\" quick"));
        // Of 1:40: easy 1.15 of it, 1:55; brisk 0.95, 1:35; fast 0.90, 1:30; drill 1.25 of easy, 2:23.75; kick 1.6, 3:04.
        for line in [
            "hundred: 1:40 ",
            "# pace: { easy: 1:55, brisk: 1:35, fast: 1:30 }",
            "# drill: 2:24",
            "# kick: 3:04",
            "# stroke: [{ count: 18 }]",
        ] {
            assert!(draft.text.contains(line), "{line} in {}", draft.text);
        }
        // With every sign taken away it still is a profile, and the paces are those assumed before.
        let without_sign = |text: String, key| text.replace(&format!("\n# {key}:"), &format!("\n{key}:"));
        let keys = ["stroke", "usual", "pace", "critical", "drill", "kick", "wall", "glide", "side"];
        let stated = keys.into_iter().fold(draft.text, without_sign);
        let stated = read(&stated).unwrap();
        assert!(stated.paces.len() == 4 && stated.drill.is_some());
        let counted = begin(&facts(None, Some("19"), Some("27.5 s"))).unwrap();
        assert!((counted.swimmer.usual.as_f64() - 1.237).abs() < 1e-9, "{}", counted.text);
    }

    #[test]
    fn what_describes_nobody_is_refused() {
        for facts in [facts(None, None, None), facts(None, Some("19"), None), facts(Some(110), Some("three"), None)] {
            assert!(begin(&facts).is_err(), "{facts:?}");
        }
    }
}
