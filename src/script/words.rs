//! Keys whose value is one of a few words, each word with its meaning.

/// `phase` of a set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// `warm-up`
    WarmUp,
    /// `build`
    Build,
    /// `main`
    Main,
    /// `cool-down`
    CoolDown,
}

impl Phase {
    /// Every phase with its word.
    pub const ALL: [(&'static str, Self); 4] =
        [("warm-up", Self::WarmUp), ("build", Self::Build), ("main", Self::Main), ("cool-down", Self::CoolDown)];
}

/// `part`: what moves the swimmer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BodyPart {
    /// `swim`: arms and legs.
    Swim,
    /// `kick`: legs alone.
    Kick,
    /// `pull`: arms alone.
    Pull,
    /// `scull`: hands alone.
    Scull,
}

impl BodyPart {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 4] =
        [("swim", Self::Swim), ("kick", Self::Kick), ("pull", Self::Pull), ("scull", Self::Scull)];
}

/// `stroke`
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stroke {
    /// `crawl`
    Crawl,
    /// `back`
    Back,
    /// `breast`
    Breast,
    /// `fly`
    Fly,
    /// `medley`
    Medley,
    /// `choice`
    Choice,
}

impl Stroke {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 6] = [
        ("crawl", Self::Crawl),
        ("back", Self::Back),
        ("breast", Self::Breast),
        ("fly", Self::Fly),
        ("medley", Self::Medley),
        ("choice", Self::Choice),
    ];
}

/// One piece of `gear`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gear {
    /// `fins`
    Fins,
    /// `paddles`
    Paddles,
    /// `buoy`
    Buoy,
    /// `snorkel`
    Snorkel,
    /// `board`: to kick with.
    Board,
}

impl Gear {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 5] = [
        ("fins", Self::Fins),
        ("paddles", Self::Paddles),
        ("buoy", Self::Buoy),
        ("snorkel", Self::Snorkel),
        ("board", Self::Board),
    ];
}

/// `count`: which lengths the swimmer is asked to count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CountOn {
    /// `last length`
    LastLength,
    /// `each length`
    EachLength,
}

impl CountOn {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 2] = [("last length", Self::LastLength), ("each length", Self::EachLength)];
}

/// `test`: a swim of which the log asks a result; no voice and no beats while it is swum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Test {
    /// `time`
    Time,
    /// `count`
    Count,
}

impl Test {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 2] = [("time", Self::Time), ("count", Self::Count)];
}

/// `marks`: what is marked while a swim with a pace is swum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PaceMarks {
    /// `walls`: each wall, when it is due.
    Walls,
    /// `none`
    None,
}

impl PaceMarks {
    /// Every one with its word.
    pub const ALL: [(&'static str, Self); 2] = [("walls", Self::Walls), ("none", Self::None)];
}
