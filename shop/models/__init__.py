"""The ground floor: who the shop is, who works there, where they work, for whom, and the counters that number its papers."""

from shop.models.audit import AccessEvent, AccessKind, AuditEntry, AuditVerb
from shop.models.backup import BackupPlan
from shop.models.customers import Customer, CustomerQuerySet
from shop.models.habits import CalendarLink, KeptFilter
from shop.models.house import ActOnce, Bench, NumberSeries
from shop.models.long_work import ENDED, LongWork, WorkState
from shop.models.personal import DataRequest, DataRequestKind
from shop.models.profile import (
    CapacitanceStyle,
    MarkupStep,
    Paper,
    Profile,
    TaxCategory,
    TaxRounding,
    TaxScheme,
    WarrantyStart,
)
from shop.models.sign_in import RecoveryCode, SecondFactor, SignedIn
from shop.models.staff import Role, Staff
from shop.models.tallies import Tally, TallyLeaf

__all__ = [
    "ENDED",
    "AccessEvent",
    "AccessKind",
    "ActOnce",
    "AuditEntry",
    "AuditVerb",
    "BackupPlan",
    "Bench",
    "CalendarLink",
    "CapacitanceStyle",
    "Customer",
    "CustomerQuerySet",
    "DataRequest",
    "DataRequestKind",
    "KeptFilter",
    "LongWork",
    "MarkupStep",
    "NumberSeries",
    "Paper",
    "Profile",
    "RecoveryCode",
    "Role",
    "SecondFactor",
    "SignedIn",
    "Staff",
    "Tally",
    "TallyLeaf",
    "TaxCategory",
    "TaxRounding",
    "TaxScheme",
    "WarrantyStart",
    "WorkState",
]
