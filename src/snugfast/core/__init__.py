"""Words every floor shares: units, marks on formulas, figures, findings, errors, identities.

Standard library only.
"""
