// The two-wire bus with one made-up chip on it.
#pragma once
#include <cstdint>

struct TwoWire {
  void begin();
  void beginTransmission(uint8_t address);
  void write(uint8_t byte);
  uint8_t endTransmission();
  uint8_t requestFrom(uint8_t address, uint8_t count);
  int read();
};
extern TwoWire Wire;
