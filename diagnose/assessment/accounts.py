"""Which fault is accounted for by which cause: for each symptom seen,
the cause that most likely had a part in that one.

"Had a part" in the ranking is in any symptom seen. A first cause at 85 % may be all about one of three faults and leave
another to somebody else: a fault that no cause accounts for is where a second cause hides.
"""

from __future__ import annotations

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.records import Account
from diagnose.reasoning.network import NOT_LISTED

#: a cause as likely as this, or likelier, accounts for a fault: what is shown as "about 50 %" does
ACCOUNTS = 0.45


def accounts_of(consultation: Consultation) -> tuple[Account, ...]:
    """Return an account of each symptom seen, in the order told. Exact.
    One that a measurement says isn't there needs none.
    """
    inference = consultation.situation.inference
    there = {finding.question for finding in inference.positive}
    listed = [i for i, name in enumerate(inference.names) if name != NOT_LISTED]
    found = []
    for symptom in (name for name in consultation.symptoms_seen if name in there):
        part = inference.responsible_for(symptom)
        first = min(listed, key=lambda i: (-round(float(part[i]), 10), inference.names[i]))
        found.append(Account(symptom, inference.names[first], float(part[first])))
    return tuple(found)


def unaccounted(consultation: Consultation) -> tuple[str, ...]:
    """Return the symptoms seen that no cause is likely enough to account for, where one accounts for another of them.

    Where none accounts for anything the first cause itself is still open, which is what the ranking of questions is
    for.
    """
    accounts = accounts_of(consultation)
    left = tuple(a.symptom for a in accounts if round(a.probability, 10) < ACCOUNTS)
    return left if len(left) < len(accounts) else ()
