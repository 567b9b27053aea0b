"""What the meter shows: logic makes a View from a state, draw paints it. Nothing here touches hardware."""
