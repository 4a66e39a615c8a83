// What the board's core offers, as far as the program needs it: time stands still but for delay().
#pragma once
#include <cstddef>
#include <cstdint>
#include <cstdio>

unsigned long millis();
void delay(unsigned long ms);

struct SerialPort {
  void begin(unsigned long baud);
  void print(const char *text);
};
extern SerialPort Serial;
