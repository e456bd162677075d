"""Will it fit: clearances, coupons, trials, and what a printer was found to do."""
