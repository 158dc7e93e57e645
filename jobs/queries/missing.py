"""What a job still lacks before an act: consent, proof, soak. Each answer is a list of phrases that fit behind “needs first:”."""

from dataclasses import dataclass

from jobs.models import Job, SafetyCheck, SecondLook, SoakRun
from jobs.models.estimate import ConsentAnswer
from jobs.queries.borne import borne_on
from jobs.queries.second_look import second_look_points
from jobs.queries.sheet import JUDGED, Sheet, sheet_of
from shop.models import Profile


def consent_missing(job: Job) -> list[str]:
    """What the warranty covers wholly costs the customer nothing, so nothing is agreed to; anything beyond it still is."""
    if job.consents.filter(answer=ConsentAnswer.AGREED).exists():
        return []
    return [] if borne_on(job).wholly else ["the customer's recorded consent to an estimate"]


def cover_missing(job: Job) -> list[str]:
    return [] if borne_on(job).wholly else ["the decision that the warranty covers all of it"]


def declined_missing(job: Job) -> list[str]:
    """A set on the bench is put back without more work only where the customer's last answer was no."""
    last = job.consents.filter(estimate__isnull=False).order_by("-pk").first()  # type: ignore[attr-defined]
    return [] if last is not None and last.answer == ConsentAnswer.DECLINED else ["a version that the customer declined"]


@dataclass(frozen=True, slots=True)
class Proof:
    """The newest second look and safety check, and whether they hold for the log as it stands now."""

    second_look: SecondLook | None
    check: SafetyCheck | None
    last_change_seq: int

    @property
    def looked(self) -> bool:
        return self.second_look is not None and self.second_look.log_seq >= self.last_change_seq

    @property
    def check_holds(self) -> bool:
        return self.check is not None and self.check.log_seq >= self.last_change_seq

    @property
    def safe(self) -> bool:
        return self.check is not None and self.check.passed and self.check_holds


def proof_of(job: Job, sheet: Sheet | None = None) -> Proof:
    sheet = sheet or sheet_of(job, JUDGED)
    return Proof(
        job.second_looks.select_related("person").order_by("-pk").first(),
        job.safety_checks.select_related("person").order_by("-pk").first(),
        sheet.last_change_seq,
    )


def safety_missing(job: Job, sheet: Sheet | None = None) -> list[str]:
    proof = proof_of(job, sheet)
    if proof.safe:
        return []
    if proof.check is None:
        return ["a passed electrical safety check"]
    if not proof.check_holds:
        return ["a new electrical safety check, as the circuit was changed after the last one"]
    return ["a passed electrical safety check (the last one failed)"]


def proof_missing(job: Job) -> list[str]:
    """Before a set is left running on its own: looked over and safe."""
    sheet = sheet_of(job, (*JUDGED, "lot"))
    return look_missing(job, sheet) + safety_missing(job, sheet)


def look_missing(job: Job, sheet: Sheet) -> list[str]:
    """A second look that holds: nothing was changed after it, and nothing blocks it (again)."""
    blocking = [point for point in second_look_points(sheet) if point.blocks]
    if blocking:
        many = "1 point on it still blocks" if len(blocking) == 1 else f"{len(blocking)} points on it still block"
        return [f"the second look ({many})"]
    proof = proof_of(job, sheet)
    if proof.looked:
        return []
    if proof.second_look is None:
        return ["the second look"]
    return ["a new second look, as the circuit was changed after the last one"]


def running_soak(job: Job) -> list[str]:
    return ["the end of the running soak"] if job.soaks.filter(ended_at__isnull=True).exists() else []


def soak_missing(job: Job) -> list[str]:
    """The shop's soak hours, run without a fault since the last change of the circuit."""
    profile = Profile.current()
    wanted = (profile.soak_hours if profile else 0) * 60
    sheet = sheet_of(job, JUDGED)
    missing = safety_missing(job, sheet)
    done = sum(run.minutes for run in soak_since_change(job, sheet))
    running = running_soak(job)
    if running:
        missing += running
    elif done < wanted:
        missing.append(
            f"{wanted // 60} h of soak without a fault ({done / 60:.1f} h are recorded since the circuit was last changed)"
        )
    return missing


def soak_since_change(job: Job, sheet: Sheet) -> list[SoakRun]:
    changed_at = max((entry.at for entry in sheet.entries if entry.seq == sheet.last_change_seq), default=None)
    runs = job.soaks.filter(passed=True, ended_at__isnull=False)
    return list(runs.filter(started_at__gte=changed_at) if changed_at else runs)
