"""What is true of sets and jobs. Written by `jobs.services`, read by `jobs.queries`."""

from jobs.models.estimate import ApprovalLink, Consent, Deposit, Estimate, EstimateLine
from jobs.models.job import CameWith, Goal, Job, JobAct, Photo, Stage, WaitsFor
from jobs.models.labour import FlatTask, LabourEntry, Step, Timer
from jobs.models.log import Decision, EntryKind, LogEntry, Point, Position, Verdict
from jobs.models.practice import TolerancePractice
from jobs.models.proving import HandOver, HandOverKind, SafetyCheck, SafetyReading, SecondLook, SoakRun
from jobs.models.reforming import Reforming, ReformOutcome, ReformReading
from jobs.models.sets import CalledFor, RadioModel, RadioSet, SupplyKind
from jobs.models.supply import SupplyFigures, Topology
from jobs.models.warranty import Warranty, WarrantyLine

__all__ = [
    "ApprovalLink",
    "CalledFor",
    "CameWith",
    "Consent",
    "Decision",
    "Deposit",
    "EntryKind",
    "Estimate",
    "EstimateLine",
    "FlatTask",
    "Goal",
    "HandOver",
    "HandOverKind",
    "Job",
    "JobAct",
    "LabourEntry",
    "LogEntry",
    "Photo",
    "Point",
    "Position",
    "RadioModel",
    "RadioSet",
    "ReformOutcome",
    "ReformReading",
    "Reforming",
    "SafetyCheck",
    "SafetyReading",
    "SecondLook",
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
]
