"""What the pack itself can do, quantity by quantity: what two figures or more need lives here."""
