import { type KilowattHours, kilowattHours } from "../units.ts";

/**
 * Net energy of a meter that counts both directions apart: delivered to the customer less received from them.
 *
 * @param delivered  kWh, >= 0
 * @param received   kWh, >= 0
 * @returns kWh; negative when more was received
 * @throws RangeError if either is negative: each register counts upwards
 * @source definition of net energy
 * @example 320 kWh delivered, 410 kWh received // -90 kWh
 */
export function netEnergy(delivered: KilowattHours, received: KilowattHours): KilowattHours {
  if (delivered.isLessThan("0") || received.isLessThan("0")) {
    throw new RangeError("delivered and received energy are each counted upwards, from 0");
  }
  return kilowattHours(delivered.minus(received));
}
