//! One line of a set: its names resolved, its values laid over the repeats, its conflicts told.

use super::names::Named;
use super::{Leave, Line, Repeat, breath, progression};
use crate::diag::{Code, Diagnostic, Span, Spanned};
use crate::pack::library::Library;
use crate::script::{
    BodyPart, Breathe, CallOut, Change, Far, FocusOrder, PaceMarks, Remind, Rest, Script, StrokeTarget, Swim, Values,
    Water,
};
use crate::swimmer::{SwimStretch, Swimmer};
use crate::units::swim::{Distance, Pace, PoolLength};
use crate::units::time::{Seconds, Tempo};

/// What lines are checked against.
pub struct Context<'a> {
    /// The script.
    pub script: &'a Script,
    /// The packs' texts.
    pub library: &'a Library,
    /// The swimmer.
    pub swimmer: &'a Swimmer,
}

/// The time that a line takes at least, in seconds: a bound to stop a script of more than a day before anything is
/// expanded.
pub fn at_least(swim: &Swim, rounds: u32) -> f64 {
    // Nobody swims faster than 3 m/s.
    let swum = |distance: Distance| distance.metres() / 3.0;
    let repeats = f64::from(swim.repeats.value);
    let all = match &swim.far.value {
        Far::Distances(each) => {
            let mean = each.iter().copied().map(swum).sum::<f64>() / each.len().max(1) as f64;
            mean * repeats
        }
        Far::Time(time) => time.as_f64() * repeats,
        Far::Course { lap, laps } => swum(*lap) * f64::from(*laps) * repeats,
    };
    if let Some(within) = swim.within {
        return within.value.as_f64() * f64::from(rounds);
    }
    let send_offs = swim.send_off.map_or(0.0, |send_off| send_off.value.as_f64() * repeats);
    let rests = match swim.rest.map(|rest| rest.value) {
        Some(Rest::Fixed(rest)) => rest.as_f64() * repeats,
        _ => 0.0,
    };
    (all.max(send_offs) + rests) * f64::from(rounds)
}

/// Checks of a swim what can be told of it alone, whatever else of the script could not be read.
pub fn check_alone(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) {
    whole_lengths(context.script.water.value, &swim.far, problems);
    Named::of(swim, context.script, context.library, problems);
    if let Some(breathe) = &swim.breathe {
        problems.extend(breath::check(breathe.value, longest(swim, context), breathe.span));
    }
}

/// Checks a line. `follows`: whether another repeat of the set comes after its last one.
pub fn check(swim: &Swim, follows: bool, context: &Context<'_>, problems: &mut Vec<Diagnostic>) -> Option<Line> {
    let repeats = at_most_repeats(swim);
    let whole = whole_lengths(context.script.water.value, &swim.far, problems);
    let (tempos, paces) = (tempos(swim, context, problems), paces(swim, context, problems));
    check_manner(swim, &tempos, problems);
    check_within(swim, problems);
    check_water(swim, context, problems);
    check_marks(swim, context, problems);
    check_lengths(swim, context, problems);
    let Named { drill, focus, kinds, beats } = Named::of(swim, context.script, context.library, problems);
    if let Some(breathe) = &swim.breathe {
        problems.extend(breath::check(breathe.value, longest(swim, context), breathe.span));
    }
    let leave = match (swim.send_off, swim.rest) {
        (Some(send_off), _) => Leave::SendOff(send_off.value),
        (None, Some(rest)) => Leave::Rest(rest.value),
        (None, None) => Leave::Open,
    };
    if leave == Leave::Open && (repeats > 1 || swim.within.is_some() || follows) {
        let message = "repeats follow each other with neither rest nor send-off";
        let hint = "add `rest: 15 s`, or a send-off such as `on 1:30`; `rest: 0 s` swims on without a stop";
        problems.push(Diagnostic::at(Code::NoRest, swim.span, message).hint(hint));
    }
    whole.then(|| Line {
        span: swim.span,
        repeats,
        within: swim.within.map(|within| within.value),
        far: swim.far.value.clone(),
        tempos,
        paces,
        per_minute: swim.tempo.as_ref().is_some_and(|tempo| tempo.value.per_minute),
        effort: swim.effort.map(|effort| effort.value),
        part: swim.part.map_or(BodyPart::Swim, |part| part.value),
        stroke: swim.stroke.map(|stroke| stroke.value),
        gear: swim.gear.as_ref().map_or_else(Vec::new, |gear| gear.value.clone()),
        drill,
        kinds,
        // Nothing is heard during a test.
        beats: beats.filter(|_| swim.test.is_none()),
        beats_asked: swim.beats.is_some(),
        breathe: swim.breathe.map(|breathe| breathe.value),
        sight: swim.sight.map(|sight| sight.value),
        calls: swim.call.as_ref().map_or_else(Vec::new, |call| call.value.clone()),
        remind: remind(swim, context),
        marks: marks_walls(swim, context),
        at_most: None,
        count: swim.count.map(|count| count.value),
        test: swim.test.map(|test| test.value),
        second_half: swim.second_half.map(|faster| faster.value),
        leave,
        focus,
        change: swim.focus.as_ref().filter(|f| f.value.phrases.len() > 1).map(|f| f.value.change.value),
        blocked: swim.focus.as_ref().is_some_and(|f| f.value.order == FocusOrder::Blocked),
    })
}

/// A list has no more values than this. One that is longer than what fits into a time is not a mistake.
const LONGEST_LIST: u32 = 200;

/// How many repeats a round has, or could have where they fill a time: nobody swims faster than 3 m/s.
fn at_most_repeats(swim: &Swim) -> u32 {
    match (&swim.far.value, swim.within) {
        (Far::Distances(each), Some(within)) => {
            let quickest = each.first().map_or(1.0, |distance| distance.metres() / 3.0);
            // 6 h of 1 m at most.
            LONGEST_LIST.max(1 + (within.value.as_f64() / quickest) as u32)
        }
        _ => swim.repeats.value,
    }
}

/// A range is laid over a number of repeats, which nobody knows who fills a time.
fn check_within(swim: &Swim, problems: &mut Vec<Diagnostic>) {
    let Some(within) = swim.within else { return };
    let tempo =
        swim.tempo.as_ref().filter(|tempo| matches!(tempo.value.shape, Values::Range(_))).map(|tempo| tempo.span);
    let pace = swim.pace.as_ref().filter(|pace| matches!(pace.value.shape, Values::Range(_))).map(|pace| pace.span);
    if let Some(range) = tempo.or(pace) {
        let message = "a range runs over a number of repeats, and `for` leaves that to the swimmer";
        let problem = Diagnostic::at(Code::Conflict, range, message).label(within.span, "the time to fill");
        problems.push(problem.hint("write a list, which goes round: `[usual, usual - 0.05 s]`"));
    }
}

/// The tempos of a round, as they come to for the swimmer.
fn tempos(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) -> Vec<Tempo> {
    let Some(written) = &swim.tempo else { return Vec::new() };
    let swimmer = context.swimmer;
    let at = |base, plus| progression::tempo_from(base, plus, swimmer);
    let none = |_, plus: Seconds| {
        let tempo = swimmer.usual.as_f64() + plus.as_f64();
        format!("this tempo comes to {tempo:.2} s for {}; 0.4 to 2.5 s is allowed", swimmer.called())
    };
    let resolved = progression::resolve(written, at, none, problems);
    resolved.map_or_else(Vec::new, |tempos| progression::values(&tempos, at_most_repeats(swim), problems))
}

/// What paces are told by: a length of the pool, or 100 m of open water.
pub fn stretch(water: Water) -> SwimStretch {
    match water {
        Water::Pool(pool) => SwimStretch::Length(pool),
        Water::Open => SwimStretch::Open(100.0),
    }
}

/// The paces of a round likewise.
fn paces(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) -> Vec<Pace> {
    let Some(written) = &swim.pace else { return Vec::new() };
    let stretch = stretch(context.script.water.value);
    let time = |base, plus| context.swimmer.pace_of(base, stretch) + plus;
    let none = |base, plus| {
        let (time, swimmer) = (time(base, plus), context.swimmer.called());
        format!("this pace comes to {time} per 100 for {swimmer}; 0:30 to 10:00 is allowed")
    };
    let resolved = progression::resolve(written, |base, plus| Pace::new(time(base, plus)), none, problems);
    resolved.map_or_else(Vec::new, |paces| progression::values(&paces, at_most_repeats(swim), problems))
}

/// The target of strokes in a length of these repeats. One that follows the prediction follows the length with the most
/// strokes, so that none of them is asked for more than it says. `None` where no strokes are predicted.
pub fn at_most<'a>(target: StrokeTarget, repeats: impl Iterator<Item = &'a Repeat>) -> Option<u32> {
    match target {
        StrokeTarget::Fixed(strokes) => Some(strokes),
        StrokeTarget::Predicted(plus) => {
            let counts = repeats.flat_map(|repeat| &repeat.lengths).filter_map(|length| length.count);
            let most = counts.max_by(f64::total_cmp)?;
            Some((libm::round(most) as i32).saturating_add(plus).clamp(4, 200).unsigned_abs())
        }
    }
}

/// The longest repeat in metres, as far as it is written.
fn longest(swim: &Swim, context: &Context<'_>) -> f64 {
    match &swim.far.value {
        Far::Distances(each) => each.iter().map(|distance| distance.metres()).fold(0.0, f64::max),
        Far::Course { lap, laps } => lap.metres() * f64::from(*laps),
        Far::Time(time) => {
            let how = crate::swimmer::How::crawl(crate::swimmer::SpeedTarget::Effort(crate::script::Effort::Steady));
            context.swimmer.reach(*time, &how)
        }
    }
}

/// What decides the speed must be one thing.
fn check_manner(swim: &Swim, tempos: &[Tempo], problems: &mut Vec<Diagnostic>) {
    if let (Some(tempo), Some(pace)) = (&swim.tempo, &swim.pace) {
        let message = "a swim has a tempo or a pace: each decides the predicted time";
        problems.push(
            Diagnostic::at(Code::Conflict, pace.span, message)
                .label(tempo.span, "the tempo")
                .hint("leave one out; `check` shows the time that a tempo makes"),
        );
    }
    if let Some(beats) = swim.beats.as_ref().filter(|beats| swim.tempo.is_none() && beats.value != "none") {
        let message = format!("beats `{}` without a tempo", beats.value);
        problems.push(Diagnostic::at(Code::Conflict, beats.span, message).hint("add `tempo: 1.20 s`"));
    }
    if let Some(tempo) = &swim.tempo {
        problems.extend(progression::check_audible(tempos, tempo.span));
    }
}

/// What a pool has and open water has not.
fn check_water(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) {
    let open = context.script.water.value == Water::Open;
    let mut conflict = |span: Span, message: &str, hint: &str| {
        problems.push(Diagnostic::at(Code::Conflict, span, message).hint(hint));
    };
    if let Some(focus) = swim.focus.as_ref().filter(|f| open && f.value.change.value == Change::Length) {
        let hint = "use `change: 60 strokes` or `change: repeat`";
        conflict(focus.value.change.span, "open water has no lengths for the focus to change on", hint);
    }
    if let Some(breathe) = swim.breathe.filter(|b| open && b.value == Breathe::ByLength) {
        conflict(breathe.span, "open water has no lengths to change the side on", "use `{ right: 20, left: 20 }`");
    }
    if open && !swim.lengths.is_empty() {
        conflict(swim.span, "open water has no `lengths`", "write several swims under `do`, joined by `rest: 0 s`");
    }
    if let Some(faster) = swim.second_half.filter(|_| !open && even_halves(swim, context).is_none()) {
        conflict(faster.span, "`second-half` needs an even number of lengths", "swim an even number of lengths");
    }
}

/// Whether the walls of a swim are marked: where it has a pace, unless the script says otherwise. Nothing is heard in a test.
fn marks_walls(swim: &Swim, context: &Context<'_>) -> bool {
    let open = context.script.water.value == Water::Open;
    let asked = swim.marks.is_none_or(|marks| marks.value == PaceMarks::Walls);
    asked && !open && swim.pace.is_some() && swim.test.is_none()
}

/// How soon a focus is said again where the script does not say, in a pool and in open water: about as long as attention stays by
/// itself. Common practice, no source.
const REMINDED: (Remind, Remind) = (Remind::Lengths(4), Remind::Time(Seconds::from_secs(90)));

/// How soon a focus is said again. Nothing is heard in a test.
fn remind(swim: &Swim, context: &Context<'_>) -> Remind {
    let (pool, open) = REMINDED;
    match swim.remind.map(|remind| remind.value) {
        _ if swim.test.is_some() => Remind::Never,
        Some(remind) => remind,
        None if context.script.water.value == Water::Open => open,
        None => pool,
    }
}

/// What goes by lengths where there are none.
fn check_lengths(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) {
    let mut conflict = |span: Span, message: &str, hint: &str| {
        problems.push(Diagnostic::at(Code::Conflict, span, message).hint(hint));
    };
    let remind = swim.remind.map(|remind| (remind.value, remind.span));
    if context.script.water.value != Water::Open {
        if let Some((Remind::Time(_), span)) = remind {
            conflict(span, "in a pool a focus is said again in the glide of a length", "use `every 4 lengths`");
        }
        return;
    }
    if let Some((Remind::Lengths(_), span)) = remind {
        conflict(span, "open water has no lengths to remind after", "use a time: `every 90 s`");
    }
    if let Some(call) = swim.call.as_ref().filter(|call| call.value.contains(&CallOut::Lengths)) {
        conflict(call.span, "open water has no lengths to call", "use `call: every 100 strokes`");
    }
}

/// Marks that are asked for where no wall is due at any moment.
fn check_marks(swim: &Swim, context: &Context<'_>, problems: &mut Vec<Diagnostic>) {
    let Some(marks) = swim.marks.filter(|marks| marks.value == PaceMarks::Walls) else { return };
    let (message, hint) = if context.script.water.value == Water::Open {
        ("open water has no walls to mark", "leave `marks` out")
    } else if swim.pace.is_none() {
        ("without a pace no wall is due at any moment", "add a pace such as `pace: steady`, or leave `marks` out")
    } else {
        return;
    };
    problems.push(Diagnostic::at(Code::Conflict, marks.span, message).hint(hint));
}

/// Whether every repeat has an even number of lengths.
fn even_halves(swim: &Swim, context: &Context<'_>) -> Option<()> {
    let (Water::Pool(pool), Far::Distances(each)) = (context.script.water.value, &swim.far.value) else { return None };
    each.iter().all(|distance| pool.lengths(*distance).is_none_or(|lengths| lengths % 2 == 0)).then_some(())
}

/// Whether a swim fits its water; reports where it does not.
fn whole_lengths(water: Water, far: &Spanned<Far>, problems: &mut Vec<Diagnostic>) -> bool {
    let Water::Pool(pool) = water else { return true };
    match &far.value {
        Far::Distances(each) => match each.iter().find(|distance| pool.lengths(**distance).is_none()) {
            None => true,
            Some(distance) => {
                problems.push(not_whole(pool, *distance, far.span));
                false
            }
        },
        Far::Time(_) => {
            let message = "a swim by time is for open water";
            let hint = format!("in a pool say how far: `swim: 400 {}`", pool.unit().sign());
            problems.push(Diagnostic::at(Code::Conflict, far.span, message).hint(hint));
            false
        }
        Far::Course { .. } => {
            let message = "a course is for open water";
            problems
                .push(Diagnostic::at(Code::Conflict, far.span, message).hint("write `pool: open water`, or `swim:`"));
            false
        }
    }
}

fn not_whole(pool: PoolLength, distance: Distance, span: Span) -> Diagnostic {
    let (each, wanted, unit) = (pool.distance().count(), distance.count(), pool.unit().sign());
    if distance.unit() != pool.unit() {
        let message = format!("{distance} in a pool of {pool}");
        return Diagnostic::at(Code::NotWholeLengths, span, message)
            .hint(format!("distances of this script are in {unit}"));
    }
    let below = wanted / each * each;
    let near = if below == 0 { format!("{each} {unit}") } else { format!("{below} {unit} or {} {unit}", below + each) };
    let message = format!("{distance} is no whole number of lengths of {pool}");
    Diagnostic::at(Code::NotWholeLengths, span, message).hint(format!("swim {near}"))
}

/// A rest as time, for a repeat of this distance.
pub fn rest_after(rest: Rest, distance: Distance) -> Seconds {
    match rest {
        Rest::Fixed(rest) => rest,
        Rest::PerDistance { time, per } => time.scaled(i64::from(distance.count()), i64::from(per.count())),
    }
}
