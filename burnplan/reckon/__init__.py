"""Pure reckoning: work, hours, price, dates and progress."""
