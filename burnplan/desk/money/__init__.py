"""What the artist does about money: quotes, payments, earnings."""
