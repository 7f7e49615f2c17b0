//! A passive network with drivers as loads, solved by complex modified nodal analysis.
