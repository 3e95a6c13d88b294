"""Damaged scores by the thousand: what is opened either opens or is refused in one sentence."""
