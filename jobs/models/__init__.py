"""What is true of sets and jobs. Written by `jobs.services`, read by `jobs.queries`."""

from jobs.models.estimate import ApprovalLink, Consent, Deposit, Estimate, EstimateLine
from jobs.models.job import CameWith, Goal, Job, JobAct, Photo, Stage, WaitsFor
from jobs.models.labour import FlatTask, LabourEntry, Step, Timer
from jobs.models.log import Decision, EntryKind, LogEntry, Position, Verdict
from jobs.models.proving import HandOver, HandOverKind, SafetyCheck, SafetyReading, SecondLook, SoakRun
from jobs.models.sets import CalledFor, RadioModel, RadioSet, SupplyKind
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
    "Position",
    "RadioModel",
    "RadioSet",
    "SafetyCheck",
    "SafetyReading",
    "SecondLook",
    "SoakRun",
    "Stage",
    "Step",
    "SupplyKind",
    "Timer",
    "Verdict",
    "WaitsFor",
    "Warranty",
    "WarrantyLine",
]
