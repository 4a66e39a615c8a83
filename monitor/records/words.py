"""The words of the trade as types."""

from enum import StrEnum


class Channel(StrEnum):
    AIR = "air"
    SURFACE = "surface"


class Nearness(StrEnum):
    PROBE = "probe"
    BESIDE = "beside"
    SAME_SPACE = "same-space"


class Role(StrEnum):
    SKIN_A = "skin-a"
    SKIN_B = "skin-b"
    MAT_EDGE = "mat-edge"
    FILLET = "fillet"
    PLAIN_COAT = "plain-coat"
    WAX_COAT = "wax-coat"
    PATCH = "patch"
    OTHER = "other"


class MarkKind(StrEnum):
    """Something seen or done. `cup-` marks tell of the leftover or a test cup, `tab-` marks of the
    witness tab beside the part: the part itself is as it was."""

    CATALYST_IN = "catalyst-in"
    KICKED = "kicked"
    CUP_KICKED = "cup-kicked"
    TRIMMED_SOFT = "trimmed-soft"
    TRIMMED_CLEAN = "trimmed-clean"
    TRIMMED_HARD = "trimmed-hard"
    FLIPPED = "flipped"
    SANDED_DUST = "sanded-dust"
    SANDED_GUM = "sanded-gum"
    TAB_DUST = "tab-dust"
    TAB_GUM = "tab-gum"
    THUMBNAIL_NONE = "thumbnail-none"
    THUMBNAIL_MARK = "thumbnail-mark"
    THUMBNAIL_DENT = "thumbnail-dent"
    THUMBNAIL_WET = "thumbnail-wet"
    COATED_PLAIN = "coated-plain"
    COATED_WAX = "coated-wax"
    WASHED = "washed"
    WIPED = "wiped"
    COVERED = "covered"
    UNCOVERED = "uncovered"
    HEATER_ON = "heater-on"
    HEATER_OFF = "heater-off"
    RAINED = "rained"
    SUN = "sun"
    PEEL_PLY_OFF = "peel-ply-off"
    SEEN_WARM = "seen-warm"
    STICKY = "sticky"
    NOTE = "note"


class Stage(StrEnum):
    """What a part can be ready for, in the order it comes."""

    GEL = "gel"
    KNIFE_TRIM = "knife_trim"
    RECOAT = "recoat"
    SEALED = "sealed"
    FLIP = "flip"
    SAND = "sand"
    PROPS_OFF = "props_off"
    LOAD = "load"
    FULL = "full"


WINDOWS = frozenset({Stage.KNIFE_TRIM, Stage.RECOAT})


class Verdict(StrEnum):
    """An answer about one stage, worst last: a joint takes the last of its batches'."""

    READY = "ready"
    DUE = "due"
    TEST_IT = "test-it"
    NOT_YET = "not-yet"
    SHUT = "shut"
    CANT_TELL = "cant-tell"
    WONT_CURE = "wont-cure"


class Aloud(StrEnum):
    """How loud an alert is: it may wake someone, it waits for the day, or only the page has it."""

    ANY_HOUR = "any-hour"
    BY_DAY = "by-day"
    PAGE = "page"


class MessageKind(StrEnum):
    """What a message says of its alert: it holds, it still holds and nobody has seen it, it is
    over; or nothing, where the channel is only tried."""

    SAID = "said"
    AGAIN = "again"
    OVER = "over"
    TRIED = "tried"


class Leave(StrEnum):
    """What whoever gave a passcode has leave to do."""

    WRITE = "write"
    LOOK = "look"
