"""What labels and rules allow a colony on a day, with every reason; and how much goes in."""
