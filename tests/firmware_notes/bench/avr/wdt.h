#pragma once
#define WDTO_8S 9
void wdt_enable(int timeout);
void wdt_reset();
