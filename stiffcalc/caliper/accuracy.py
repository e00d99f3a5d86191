"""What the two models were checked against, and how far off they were; printed with every result."""

STATEMENT = (
    "Both models are verified, not validated: they were compared with 3-D solid FE of the same idealised bodies, "
    "never with a measured caliper."
)
