"""What the shop's own record teaches about its hand: cents per stroke, settling, pace."""
