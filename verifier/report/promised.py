"""What other programs may count on in the JSON: names of the formats, and keys of a compared figure."""

REPORT_FORMAT = "packclaim report 1"
COMPARISON_FORMAT = "packclaim comparison 1"

# What is kept of each finding in a comparison; the report of the pack holds the rest.
COMPARED_KEYS = (
    "figure", "unit", "claimed", "claimed_range", "supported", "margin_percent", "verdict", "between",
    "limited_by", "evidence", "unknown", "sellers_word",
)  # fmt: skip
