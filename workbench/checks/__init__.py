"""Judgement: will it print, will it fit, will it hold, and may it be printed at all."""
