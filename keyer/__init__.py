"""Decide a television effect before the control room is booked."""
