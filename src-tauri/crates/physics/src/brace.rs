//! A wall with one rib of finite stiffness.
