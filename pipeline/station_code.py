"""Which modules each station depends on: a change in one of them makes the station run again."""

from __future__ import annotations

READING_CODE = ("read.py", "normalise.py", "source.py", "correlations.py")
"""Code on which a source's normalised frames depend, besides the schema and the source's own module."""

LIVE_CODE = (
    "live.py",
    "live_values.py",
    "unit_items.py",
    "wikidata_terms.py",
    "snapshot.py",
    "structure.py",
    *READING_CODE,
)
"""The same for the sources of a snapshot."""

PUBLISHING_CODE = ("build.py", "source_table.py", "publish.py", "hazards.py", "slips.py", "predicted.py")

STATION_CODE = {
    "resolve": ("resolve.py", "identities.py", "structure.py", "naming.py", "hand_tables.py"),
    "evaluate": (
        "superseded.py",
        "third_sources.py",
        "evaluate.py",
        "voices.py",
        "posterior.py",
        "consensus.py",
        "hold_out.py",
        "error_model.py",
        "calibrate.py",
        "credibility.py",
        "disputes.py",
        "behaviour.py",
        "relatives.py",
        "slips.py",
        "witnesses.py",
        "resolution.py",
        "correlations.py",
        "estimate.py",
        "descriptors.py",
        "gaussian_process.py",
        "group_counts.py",
        "structure.py",
    ),
    "fit": (
        "fit.py",
        "consensus.py",
        "critical_constants.py",
        "curve_bands.py",
        "curve_evidence.py",
        "curve_forms.py",
        "curve_points.py",
        "group_counts.py",
        "pooling.py",
        "structure.py",
        "voices.py",
        "wagner.py",
        "witnesses.py",
    ),
    "crosscheck": (
        "crosscheck.py",
        "physics.py",
        "enthalpy.py",
        "iapws.py",
        "reconcile.py",
        "adjudicate.py",
        "adjudications.csv",
        "bands.py",
        "consensus.py",
        "correlations.py",
        "descriptors.py",
        "evaluate.py",
        "resolution.py",
        "structure.py",
        "wagner.py",
        "witnesses.py",
    ),
    "mixtures": ("mixtures.py", "account.py", "unifac_groups.py"),
    "cuts": ("cuts.py", "account.py", "surrogates.py"),
}
"""Code on which each later station depends, besides the schema and the stations before it."""
