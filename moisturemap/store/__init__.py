"""The project file: what cannot be computed again, and the record of changes."""

from moisturemap.store.change import Change
from moisturemap.store.former import former_of_folder
from moisturemap.store.issued import Issue, Recheck, issue, issue_together, recheck
from moisturemap.store.joining import Joined, join_copy
from moisturemap.store.packing import pack
from moisturemap.store.project import Project, create_project, open_project, read_project
from moisturemap.store.record import WHAT_THE_RECORD_PROVES, Head, RecordEntry
from moisturemap.store.recovery import Recovery, recover
from moisturemap.store.revisions import Revision, Revisions, revisions_of
from moisturemap.store.signed_head import (
    SignedHead,
    check_head,
    make_key,
    read_signed_head,
    sign_head,
    write_signed_head,
)
from moisturemap.store.survey_rows import storey_of, with_extra
from moisturemap.store.unpacking import unpack
from moisturemap.store.verification import Fault, Verification

__all__ = [
    "WHAT_THE_RECORD_PROVES",
    "Change",
    "Fault",
    "Head",
    "Issue",
    "Joined",
    "Project",
    "Recheck",
    "Recovery",
    "RecordEntry",
    "Revision",
    "Revisions",
    "SignedHead",
    "Verification",
    "check_head",
    "create_project",
    "issue",
    "issue_together",
    "join_copy",
    "make_key",
    "open_project",
    "pack",
    "former_of_folder",
    "read_project",
    "read_signed_head",
    "recheck",
    "recover",
    "revisions_of",
    "sign_head",
    "unpack",
    "storey_of",
    "with_extra",
    "write_signed_head",
]
