"""What is true of sets and jobs. Written by `jobs.services`, read by `jobs.queries`."""

from jobs.models.claims import (
    BadLotLetter,
    Cause,
    Claim,
    ClaimAnswer,
    ClaimDecision,
    ClaimFinding,
    CoveredPlace,
    SameFault,
)
from jobs.models.estimate import Alternative, ApprovalLink, Consent, Deposit, Estimate, EstimateLine, Evidence, PositionTier
from jobs.models.forecast import Forecast
from jobs.models.job import CameWith, CollectionNotice, Goal, Job, JobAct, NoticeKind, PhotoConsent, Stage, WaitsFor
from jobs.models.labour import FlatTask, LabourEntry, PricedBy, Step, Timer
from jobs.models.log import Decision, EntryKind, LogEntry, Point, Position, Verdict
from jobs.models.pictures import WHOLE, FoundState, Moment, Photo, SheetPage, SheetPlace
from jobs.models.practice import TolerancePractice
from jobs.models.proving import HandOver, HandOverKind, SafetyCheck, SafetyReading, SecondLook, SoakRun
from jobs.models.reforming import Reforming, ReformOutcome, ReformReading
from jobs.models.sets import CalledFor, RadioModel, RadioSet, SetClass, SupplyKind
from jobs.models.supply import SupplyFigures, Topology
from jobs.models.uncollected import DisputeStep, NoticeService, ServiceKind
from jobs.models.warranty import CoverKind, Warranty, WarrantyLine, WarrantyTransfer

__all__ = [
    "WHOLE",
    "Alternative",
    "ApprovalLink",
    "BadLotLetter",
    "CalledFor",
    "CameWith",
    "Cause",
    "Claim",
    "ClaimAnswer",
    "ClaimDecision",
    "ClaimFinding",
    "CollectionNotice",
    "Consent",
    "CoverKind",
    "CoveredPlace",
    "Decision",
    "Deposit",
    "DisputeStep",
    "EntryKind",
    "Estimate",
    "EstimateLine",
    "Evidence",
    "FlatTask",
    "Forecast",
    "FoundState",
    "Goal",
    "HandOver",
    "HandOverKind",
    "Job",
    "JobAct",
    "LabourEntry",
    "LogEntry",
    "Moment",
    "NoticeKind",
    "NoticeService",
    "Photo",
    "PhotoConsent",
    "Point",
    "Position",
    "PositionTier",
    "PricedBy",
    "RadioModel",
    "RadioSet",
    "ReformOutcome",
    "ReformReading",
    "Reforming",
    "SafetyCheck",
    "SafetyReading",
    "SameFault",
    "SecondLook",
    "ServiceKind",
    "SetClass",
    "SheetPage",
    "SheetPlace",
    "SoakRun",
    "Stage",
    "Step",
    "SupplyFigures",
    "SupplyKind",
    "Timer",
    "TolerancePractice",
    "Topology",
    "Verdict",
    "WaitsFor",
    "Warranty",
    "WarrantyLine",
    "WarrantyTransfer",
]
