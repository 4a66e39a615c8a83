"""One tin across parts: everything from it slow since a date."""

from monitor.cautions import HOT_CUP, PEROXIDE
from monitor.review.parts.evidence import warmth_was_wrong
from monitor.review.parts.facts import Facts, Tin, TinJob
from monitor.review.parts.finding import Cause, Evidence, Finding
from monitor.review.parts.symptoms import SOFT, SPREAD_OUT, Grit, fits
from monitor.review.parts.weigh import symptoms, weigh

SLOW_TIN = Cause(
    "slow-tin",
    "A stale or wrong tin: everything from it is slow",
    "Put the tin aside. Two test cups in the warm, one from it and one from a fresh bottle.",
    "raise the dose on the part.",
    "The two cups side by side: the fresh one kicks in time and the old one doesn't.",
    cautions=(PEROXIDE, HOT_CUP),
)


def slow_tin(facts: Facts) -> Finding | None:
    """Every batch from a tin slow since a date, in ordinary warmth. Common practice, no source."""
    soft = fits(facts.answers, where=SPREAD_OUT, thumbnail=SOFT, grit=(Grit.GUM,))
    suspects = [tin for tin in facts.tins if _slow_since(tin)]
    if not soft or not suspects:
        return None
    tin = max(suspects, key=lambda t: len(_slow_since(t)))
    jobs = _slow_since(tin)
    since, tin_said = jobs[0], f"{tin.part} tin {tin.number}"
    every = Evidence(f"all {len(jobs)} from {tin_said} slow since", "book", since.mixed_at)
    return weigh(
        SLOW_TIN,
        (*symptoms(facts, "where", "thumbnail"), *((every,) if len(jobs) > 1 else ())),
        [Evidence(f"{tin_said}, {job.address}: {job.said}", "book", job.mixed_at) for job in jobs],
        (warmth_was_wrong(facts.last, facts.unit) if len(jobs) < 2 else None, _fine(tin, since)),
    )


def _slow_since(tin: Tin) -> tuple[TinJob, ...]:
    """The slow jobs at the end of a tin's history: none that was in time came after them."""
    told = [job for job in tin.jobs if job.slow is not None]
    slow: list[TinJob] = []
    for job in reversed(told):
        if not job.slow:
            break
        slow.insert(0, job)
    return tuple(slow)


def _fine(tin: Tin, since: TinJob) -> Evidence | None:
    """A tin that served well shortly before speaks against it, unless several were slow since."""
    fine = [job for job in tin.jobs if job.slow is False and job.mixed_at < since.mixed_at]
    slow = [job for job in tin.jobs if job.slow]
    if not fine or len(slow) > 1:
        return None
    return Evidence(f"{fine[-1].address} from it was in time", "book", fine[-1].mixed_at)
