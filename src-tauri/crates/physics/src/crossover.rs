//! What a crossover does: crossing, orders, margins, losses.
